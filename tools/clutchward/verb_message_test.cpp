// `clutchward message-test [CONTACT]`: a message that says it is a test, by every way to the
// person.
#include "talk.h"
#include "verb.h"

namespace clutchward {
namespace {

struct TestArguments {
  TalkOptions talk;
  std::string contact;
};

int run_test(const TestArguments& arguments) {
  Command command;
  command.deed = Deed::message_test;
  command.contact = arguments.contact;
  return carry_out(ControlClient(state_directory(arguments.talk.state)), std::move(command),
                   arguments.talk, of_test(arguments.contact));
}

}  // namespace

void add_message_test(CLI::App& app, Run& run) {
  auto* verb = app.add_subcommand("message-test", "Sends a test message");
  verb->alias("message_test");
  auto arguments = std::make_shared<TestArguments>();
  add_talk(*verb, arguments->talk, true);
  verb->add_option("contact,--contact", arguments->contact, "to whom; to everyone, if left out");
  verb->callback([&run, arguments] { run = [arguments] { return run_test(*arguments); }; });
}

}  // namespace clutchward
