// The commands on alarms and cabinets: one table, one way of carrying them out.
#include <sysexits.h>

#include "base/time.h"
#include "choose.h"
#include "talk.h"
#include "verb.h"

namespace clutchward {
namespace {

struct DeedVerb {
  Deed deed;
  const char* name;
  const char* alias;    // the word that JSON uses, where it is another; "" : none
  bool alarms;          // takes ALARM and --batch
  const char* minutes;  // what --minutes says; "" : it has none
  const char* what;
};

constexpr DeedVerb kDeeds[] = {
    {Deed::acknowledge, "acknowledge", "", true, "", "I have it: stops reminders and escalation"},
    {Deed::snooze, "snooze", "", true,
     "for so many minutes; 30, or as many as the alarm allows, where left out",
     "Not now: tells again when the time is over"},
    {Deed::unsnooze, "unsnooze", "", true, "", "Ends a snooze now"},
    {Deed::reset, "reset", "", true, "", "Back to normal, once it is back in range"},
    {Deed::pass_on, "pass-on", "pass_on", true, "", "Tells the next person now"},
    {Deed::attend, "attend", "", false, "for so many minutes, 60 at most; 30, where left out",
     "I am at the cabinet: opened doors raise nothing"},
    {Deed::attended, "attended", "", false, "", "I am done at the cabinet"},
    {Deed::out_of_service, "out-of-service", "out_of_service", true, "for so many minutes",
     "Takes an alarm out until a time; needs --minutes or --until"},
    {Deed::in_service, "in-service", "in_service", true, "", "Takes it in again"},
    {Deed::turned, "turned", "", false, "", "The eggs were turned by hand"},
    {Deed::cool, "cool", "", false, "for so many minutes, 720 at most",
     "The eggs are being cooled by hand; needs --minutes"},
};

struct DeedArguments {
  TalkOptions talk;
  std::string cabinet;
  std::string alarm;
  std::string batch;
  std::optional<double> minutes;
  std::string until;
  std::string reason;
};

int run_deed(Deed deed, const DeedArguments& arguments) {
  if (arguments.cabinet.empty() && arguments.alarm.empty())
    return complain("which cabinet? (an alarm of the watch itself needs --alarm)", EX_USAGE);
  const ControlClient client(state_directory(arguments.talk.state));
  Command command;
  command.deed = deed;
  command.minutes = arguments.minutes;
  command.reason = arguments.reason;
  if (!arguments.until.empty()) command.until = parse_rfc3339(arguments.until);
  const auto cabinets = fetch_cabinets(client);
  if (!cabinets) return complain(cabinets.why(), EX_UNAVAILABLE);
  command.alarm = arguments.alarm;
  command.batch = arguments.batch;
  if (!arguments.cabinet.empty()) {
    const auto cabinet = choose_cabinet(arguments.cabinet, *cabinets);
    if (!cabinet) return complain(cabinet.why(), EX_USAGE);
    command.cabinet = *cabinet;
  }
  for (const CabinetView& each : *cabinets) {
    if (each.id != command.cabinet) continue;
    const auto batch = choose_batch(arguments.batch, {each});
    if (!batch) return complain(batch.why(), EX_USAGE);
    command.batch = *batch;
    const auto alarm = choose_alarm(arguments.alarm, each, command.batch);
    if (!alarm) return complain(alarm.why(), EX_USAGE);
    command.alarm = *alarm;
  }
  const NowTrue now_true =
      command.cabinet.empty() ? of_site(command.alarm) : of_cabinet(command.cabinet);
  return carry_out(client, std::move(command), arguments.talk, now_true);
}

std::string time_fault(const std::string& text) {
  if (parse_rfc3339(text)) return {};
  return "\"" + text + "\" is no time; expected such as 2026-03-01T08:00:00Z";
}

}  // namespace

void add_deeds(CLI::App& app, Run& run) {
  for (const DeedVerb& each : kDeeds) {
    auto* verb = app.add_subcommand(each.name, each.what);
    if (*each.alias != '\0') verb->alias(each.alias);
    auto arguments = std::make_shared<DeedArguments>();
    add_talk(*verb, arguments->talk, true);
    verb->add_option("cabinet,--cabinet", arguments->cabinet,
                     "the cabinet, or its unique beginning");
    if (each.alarms) {
      verb->add_option("alarm,--alarm", arguments->alarm,
                       "the alarm, or its unique beginning; each that it fits where left out");
      verb->add_option("--batch", arguments->batch, "of this batch alone");
    }
    if (*each.minutes != '\0') verb->add_option("--minutes", arguments->minutes, each.minutes);
    if (each.deed == Deed::out_of_service) {
      verb->add_option("--until", arguments->until, "until then (RFC 3339)")->check(time_fault);
      verb->add_option("--reason", arguments->reason, "why");
    }
    verb->callback([&run, arguments, deed = each.deed] {
      run = [arguments, deed] { return run_deed(deed, *arguments); };
    });
  }
}

}  // namespace clutchward
