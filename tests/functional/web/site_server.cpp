// A web server over the made-up site of the unit tests, for tests that need a program: a loop, the
// two listeners and no engine. Commands are answered as the daemon would, one after a wait. Prints
// a line for each command that it carries out.
#include <poll.h>

#include <iostream>

#include "../../unit/web/fake_site.h"
#include "web/server.h"
#include "wire/command_json.h"

namespace {

using namespace clutchward;  // NOLINT: a program of one file

Reply carry_out(test::FakeSite& site, const Command& command) {
  if (command.deed == Deed::message_test) return {command.id, true, ""};
  for (CabinetView& cabinet : site.cabinets) {
    if (cabinet.id != command.cabinet) continue;
    for (AlarmView& alarm : cabinet.alarms) {
      if (!command.alarm.empty() && alarm.key.alarm != command.alarm) continue;
      if (command.deed != Deed::acknowledge || alarm.state != AlarmState::unacknowledged) continue;
      alarm.state = AlarmState::acknowledged;
      alarm.acknowledged = true;
      alarm.acknowledged_by = command.by;
      alarm.acknowledged_at = site.watch_view.now;
      return {command.id, true, ""};
    }
    return {command.id, false, "nothing to acknowledge: no alarm is raised"};
  }
  if (command.cabinet.empty() && !site.watch_view.alarms.empty()) {
    AlarmView& alarm = site.watch_view.alarms.front();
    alarm.state = AlarmState::acknowledged;
    alarm.acknowledged = true;
    alarm.acknowledged_by = command.by;
    alarm.acknowledged_at = site.watch_view.now;
    return {command.id, true, ""};
  }
  return {command.id, false, "no cabinet \"" + command.cabinet + "\""};
}

}  // namespace

// Arguments: STATE [LISTEN [troubled|hostile|resting]]. A command whose reason is "never" is not
// answered the first time it comes.
int main(int argc, char** argv) {
  test::FakeSite site;
  if (argc > 3 && std::string_view(argv[3]) == "hostile") {
    // What anybody may publish: a valid id, and an order to a careless shell.
    site.cabinets.push_back(test::cabinet("$(touch${IFS}ran)", "Odd", 37'500));
  } else if (argc > 3 && std::string_view(argv[3]) == "resting") {
    // Rules that are held back, one that has just gone out of range, and one that is snoozed.
    CabinetView& hot = site.cabinets.back();
    for (const char* rule : {"low", "cool", "turning"}) {
      hot.alarms.push_back(test::alarm("setter-a", "hens-setter-a", rule, AlarmState::suppressed));
      hot.alarms.back().suppressed_for = {"attending", "broker_lost"};
    }
    hot.alarms.push_back(test::alarm("setter-a", "", "spread", AlarmState::pending));
    hot.alarms.front().snoozed_until = test::at("2026-03-13T09:40:00Z");
    hot.alarms.front().snoozed_by = "mara";
    hot.alarms.front().priority = Priority::medium;  // in force now; the rule says high
    site.watch_view.alarms.push_back(test::alarm("", "", "broker", AlarmState::unacknowledged));
    site.watch_view.alarms.back().kind = RuleKind::broker;
  } else if (argc > 3) {
    site.watch_view.broker_linked = false;
    site.watch_view.broker_since = test::at("2026-03-13T08:50:00Z");
    site.watch_view.channels[0].trouble = "the mail server refuses: 550 no such mailbox";
  }
  WebDoor door = site.door();
  std::vector<std::function<void(Reply)>> dropped;
  std::string last;
  door.wakes = [] { return std::vector<WakePerson>{}; };
  door.command = [&](const Command& command, const std::function<void(Reply)>& reply) {
    std::cout << to_json(command) << std::endl;
    if (command.reason == "never" && command.id != last) {
      last = command.id;
      dropped.push_back(reply);
      return;
    }
    reply(carry_out(site, command));
  };
  WebServer server(std::move(door));
  if (const auto refusal = server.serve_control(argv[1])) {
    std::cerr << refusal->why << '\n';
    return 1;
  }
  if (const auto refusal = argc > 2 ? server.serve_page(argv[2]) : std::nullopt) {
    std::cerr << refusal->why << '\n';
    return 1;
  }
  std::cout << "ready" << std::endl;
  for (;;) {
    pollfd wait{server.descriptor(), POLLIN, 0};
    const auto timeout = server.timeout();
    ::poll(&wait, 1, timeout ? static_cast<int>(timeout->count()) : -1);
    server.turn();
  }
}
