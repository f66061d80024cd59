// `clutchward batch start|move|end`: eggs go in, go over, and come out.
#include <sysexits.h>

#include "base/time.h"
#include "choose.h"
#include "talk.h"
#include "verb.h"

namespace clutchward {
namespace {

struct BatchArguments {
  TalkOptions talk;
  std::string batch;
  std::string cabinet;
  std::string profile;
  std::string set_at;
  std::optional<int> eggs;
};

// Ids of a new batch are taken as they stand: a beginning of another one's is no mistake here.
int run_start(const BatchArguments& arguments) {
  const ControlClient client(state_directory(arguments.talk.state));
  Command command;
  command.deed = Deed::batch_start;
  command.cabinet = arguments.cabinet;
  command.batch = arguments.batch;
  command.profile = arguments.profile;
  command.eggs = arguments.eggs;
  if (!arguments.set_at.empty()) command.set_at = parse_rfc3339(arguments.set_at);
  return carry_out(client, std::move(command), arguments.talk, arguments.cabinet);
}

int run_on_batch(Deed deed, const BatchArguments& arguments) {
  const ControlClient client(state_directory(arguments.talk.state));
  const auto cabinets = fetch_cabinets(client);
  if (!cabinets) return complain(cabinets.why(), EX_UNAVAILABLE);
  const auto batch = choose_batch(arguments.batch, *cabinets);
  if (!batch) return complain(batch.why(), EX_USAGE);
  Command command;
  command.deed = deed;
  command.batch = *batch;
  std::string shown = arguments.cabinet;
  if (deed == Deed::batch_move) {
    const auto to = choose_cabinet(arguments.cabinet, *cabinets);
    if (!to) return complain(to.why(), EX_USAGE);
    command.to = shown = *to;
  }
  for (const CabinetView& cabinet : *cabinets)
    for (const BatchView& each : cabinet.batches)
      if (deed == Deed::batch_end && each.id == *batch) shown = cabinet.id;
  return carry_out(client, std::move(command), arguments.talk, shown);
}

std::string time_fault(const std::string& text) {
  if (parse_rfc3339(text)) return {};
  return "\"" + text + "\" is no time; expected such as 2026-03-01T08:00:00Z";
}

}  // namespace

void add_batch(CLI::App& app, Run& run) {
  auto* batch = app.add_subcommand("batch", "Eggs set, moved and taken out");
  batch->require_subcommand(1);
  auto arguments = std::make_shared<BatchArguments>();
  auto* start = batch->add_subcommand("start", "Sets a batch of eggs");
  start->add_option("batch,--batch", arguments->batch, "its new name, such as hens-12")->required();
  start->add_option("cabinet,--cabinet", arguments->cabinet, "where, in full")->required();
  start->add_option("--profile", arguments->profile, "the species' schedule")->required();
  start
      ->add_option("--set-at", arguments->set_at, "when they were set (RFC 3339); now, if left out")
      ->check(time_fault);
  start->add_option("--eggs", arguments->eggs, "how many");
  auto* move = batch->add_subcommand("move", "Takes a batch to another cabinet");
  move->add_option("batch,--batch", arguments->batch, "the batch, or its unique beginning")
      ->required();
  move->add_option("to,--to", arguments->cabinet, "the cabinet it goes to")->required();
  auto* end = batch->add_subcommand("end", "The batch is out: nothing watches over it any more");
  end->add_option("batch,--batch", arguments->batch, "the batch, or its unique beginning")
      ->required();
  for (auto* verb : {start, move, end}) add_talk(*verb, arguments->talk, true);
  start->callback([&run, arguments] { run = [arguments] { return run_start(*arguments); }; });
  move->callback([&run, arguments] {
    run = [arguments] { return run_on_batch(Deed::batch_move, *arguments); };
  });
  end->callback([&run, arguments] {
    run = [arguments] { return run_on_batch(Deed::batch_end, *arguments); };
  });
}

}  // namespace clutchward
