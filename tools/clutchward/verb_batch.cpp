// `clutchward batch ...`: eggs go in, are candled and weighed, go over, and come out. The verbs
// that only look are in verb_batch_look.cpp.
#include <sysexits.h>

#include <charconv>

#include "base/time.h"
#include "batch_look.h"
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
  std::string at;
  std::string new_batch;
  std::string note;
  std::optional<int> eggs;
  std::optional<double> stored_days;
  std::optional<double> grams;
  std::vector<std::string> fates;  // "infertile=3"
  bool sure = false;
};

// "infertile=3 dead_early=1"; the daemon checks the words, this only the shape.
Result<Fates> fates_of(const std::vector<std::string>& words) {
  Fates fates;
  for (const std::string& word : words) {
    const auto equals = word.find('=');
    const std::string name = word.substr(0, equals);
    const std::string number = equals == std::string::npos ? "" : word.substr(equals + 1);
    int eggs = 0;
    const auto read = std::from_chars(number.data(), number.data() + number.size(), eggs);
    if (number.empty() || read.ec != std::errc() || read.ptr != number.data() + number.size() ||
        eggs < 0)
      return Refusal{"\"" + printable(word, 60) +
                     "\" is not eggs by fate; expected such as infertile=3"};
    const auto fate = fate_named(name);
    if (!fate) {
      const std::vector<std::string> known(kFateNames.begin(), kFateNames.end());
      const std::string near = nearest_word(name, known);
      std::string list;
      for (const auto& each : known) list += (list.empty() ? "" : ", ") + each;
      return Refusal{"no fate \"" + printable(name, 60) + "\"" +
                     (near.empty() ? "; known are " + list : "; did you mean \"" + near + "\"?")};
    }
    if (eggs > 0) fates[*fate] += eggs;
  }
  return fates;
}

Result<Command> command_of(Deed deed, const BatchArguments& arguments) {
  Command command;
  command.deed = deed;
  command.batch = arguments.batch;
  command.profile = arguments.profile;
  command.eggs = arguments.eggs;
  command.stored_days = arguments.stored_days;
  command.grams = arguments.grams;
  command.sure = arguments.sure;
  command.new_batch = arguments.new_batch;
  command.note = arguments.note;
  if (!arguments.set_at.empty()) command.set_at = parse_rfc3339(arguments.set_at);
  if (!arguments.at.empty()) command.at = parse_rfc3339(arguments.at);
  const auto fates = fates_of(arguments.fates);
  if (!fates) return Refusal{fates.why()};
  command.eggs_by_fate = *fates;
  return command;
}

// Ids of a new batch are taken as they stand: a beginning of another one's is no mistake here.
int run_start(const BatchArguments& arguments) {
  const ControlClient client(state_directory(arguments.talk.state));
  auto command = command_of(Deed::batch_start, arguments);
  if (!command) return complain(command.why(), EX_USAGE);
  command->cabinet = arguments.cabinet;
  return carry_out(client, std::move(*command), arguments.talk, of_batches({arguments.batch}));
}

int run_on_batch(Deed deed, const BatchArguments& arguments) {
  auto command = command_of(deed, arguments);
  if (!command) return complain(command.why(), EX_USAGE);
  const ControlClient client(state_directory(arguments.talk.state));
  const auto cabinets = fetch_cabinets(client);
  if (!cabinets) return complain(cabinets.why(), EX_UNAVAILABLE);
  const auto batch = choose_batch(arguments.batch, *cabinets);
  if (!batch) return complain(batch.why(), EX_USAGE);
  command->batch = *batch;
  if (deed == Deed::batch_move || deed == Deed::batch_split) {
    const auto to = choose_cabinet(arguments.cabinet, *cabinets);
    if (!to) return complain(to.why(), EX_USAGE);
    command->to = *to;
  }
  std::vector<std::string> ids{*batch};
  if (deed == Deed::batch_split) ids.push_back(arguments.new_batch);
  return carry_out(client, std::move(*command), arguments.talk, of_batches(ids));
}

std::string time_fault(const std::string& text) {
  if (parse_rfc3339(text)) return {};
  return "\"" + text + "\" is no time; expected such as 2026-03-01T08:00:00Z";
}

struct BatchVerb {
  Deed deed;
  const char* name;
  const char* what;
};

constexpr BatchVerb kVerbs[] = {
    {Deed::batch_start, "start", "Sets a batch of eggs, now or at --set-at (later: it is planned)"},
    {Deed::batch_move, "move", "Takes a batch to another cabinet, such as the hatcher"},
    {Deed::batch_split, "split",
     "Takes some of its eggs to another cabinet, as a batch of their own"},
    {Deed::batch_correct, "correct", "Puts right what was said wrong; the record says who did"},
    {Deed::candled, "candle", "The eggs were candled; names those taken out"},
    {Deed::weighed, "weigh", "The eggs were weighed, without their tray"},
    {Deed::batch_end, "end", "The batch is out, and what came of it: nothing watches it any more"},
};

const char* const kFates =
    "eggs by fate: hatched, infertile, dead_early, dead_middle, dead_late, pipped, culled, "
    "cracked, "
    "other; such as infertile=3";

void add_words(CLI::App& verb, Deed deed, BatchArguments& arguments) {
  verb.add_option("batch,--batch", arguments.batch,
                  deed == Deed::batch_start ? "its new name, such as hens-12"
                                            : "the batch, or its unique beginning")
      ->required();
  switch (deed) {
    case Deed::batch_start:
      verb.add_option("cabinet,--cabinet", arguments.cabinet, "where, in full")->required();
      verb.add_option("--profile", arguments.profile, "the species' schedule")->required();
      break;
    case Deed::batch_split:
      verb.add_option("new,--new", arguments.new_batch, "the name of the eggs that go")->required();
      [[fallthrough]];
    case Deed::batch_move:
      verb.add_option("to,--to", arguments.cabinet, "the cabinet they go to")->required();
      break;
    case Deed::candled:
      verb.add_option("removed,--removed", arguments.fates, kFates);
      break;
    case Deed::weighed:
      verb.add_option("grams,--grams", arguments.grams, "all of them together, without the tray")
          ->required();
      verb.add_flag("--sure", arguments.sure, "it is right although it seems impossible");
      break;
    default:
      verb.add_option("outcome,--outcome", arguments.fates, kFates);
      break;
  }
}

void add_numbers(CLI::App& verb, Deed deed, BatchArguments& arguments) {
  const bool starts = deed == Deed::batch_start || deed == Deed::batch_correct;
  if (starts) {
    verb.add_option("--set-at", arguments.set_at, "when they were set (RFC 3339)")
        ->check(time_fault);
    verb.add_option("--stored-days", arguments.stored_days,
                    "days between laying and setting, on the mean");
  }
  if (starts || deed == Deed::batch_split || deed == Deed::weighed) {
    auto* eggs = verb.add_option(
        "--eggs", arguments.eggs,
        deed == Deed::weighed ? "how many were weighed; all, if left out" : "how many");
    if (deed == Deed::batch_split) eggs->required();
  }
  if (!starts)
    verb.add_option("--at", arguments.at, "when it was done (RFC 3339); now, if left out")
        ->check(time_fault);
  if (starts || deed == Deed::candled || deed == Deed::batch_end)
    verb.add_option("--note", arguments.note, "a word for the record");
}

}  // namespace

void add_batch(CLI::App& app, Run& run) {
  auto* batch = app.add_subcommand(
      "batch", "A batch of eggs from the shelf to the hatch: set, candled, weighed, moved, ended");
  batch->require_subcommand(1);
  for (const BatchVerb& each : kVerbs) {
    auto* verb = batch->add_subcommand(each.name, each.what);
    auto arguments = std::make_shared<BatchArguments>();
    add_words(*verb, each.deed, *arguments);
    add_numbers(*verb, each.deed, *arguments);
    add_talk(*verb, arguments->talk, true);
    verb->callback([&run, arguments, deed = each.deed] {
      run = [arguments, deed] {
        return deed == Deed::batch_start ? run_start(*arguments) : run_on_batch(deed, *arguments);
      };
    });
  }
  add_batch_look(*batch, run);
}

}  // namespace clutchward
