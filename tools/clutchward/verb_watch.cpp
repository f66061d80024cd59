// `clutchward watch`: the status as a screen that keeps itself up to date; where there is no
// terminal, a line for each change. Ends with ^C, and shows where the daemon cannot be reached.
#include <sysexits.h>
#include <unistd.h>

#include <chrono>
#include <csignal>
#include <cstdlib>
#include <cstring>
#include <iostream>
#include <map>
#include <nlohmann/json.hpp>

#include "live_screen.h"
#include "picture_reader.h"
#include "screen.h"
#include "talk.h"
#include "verb.h"

namespace clutchward {
namespace {

using Json = nlohmann::ordered_json;

struct WatchArguments {
  TalkOptions talk;
  double every = 1;  // seconds
};

struct Seen {
  std::string why;  // "" : it could be seen
  std::string watch_json;
  std::string cabinets_json;
  WatchView watch;
  std::vector<CabinetView> cabinets;
};

Seen look(const ControlClient& client) {
  Seen seen;
  const auto watch = client.get("/api/watch");
  const auto cabinets = watch ? client.get("/api/cabinets") : watch;
  if (!cabinets) {
    seen.why = cabinets.why();
    return seen;
  }
  auto watch_view = read_watch(watch->body);
  auto views = read_cabinets(cabinets->body);
  if (!watch_view || !views) {
    seen.why = watch_view ? views.why() : watch_view.why();
    return seen;
  }
  seen.watch_json = watch->body;
  seen.cabinets_json = cabinets->body;
  seen.watch = std::move(*watch_view);
  seen.cabinets = std::move(*views);
  return seen;
}

// Never more than a twentieth of the time is spent on asking.
class Pace {
 public:
  explicit Pace(double every) : every_(static_cast<int>(every * 1000)) {}
  void begin() { begun_ = std::chrono::steady_clock::now(); }
  void rest_of_turn() const {
    const auto took = std::chrono::duration_cast<std::chrono::milliseconds>(
        std::chrono::steady_clock::now() - begun_);
    rest(std::max(every_, static_cast<int>(took.count()) * 20));
  }

 private:
  int every_;
  std::chrono::steady_clock::time_point begun_;
};

int on_a_terminal(const ControlClient& client, const WatchArguments& arguments) {
  const Colour colour = colour_for(STDOUT_FILENO);
  Pace pace(arguments.every);
  LiveScreen screen;
  std::string last;
  while (!asked_to_end()) {
    pace.begin();
    const Seen seen = look(client);
    if (seen.why.empty()) last = status_screen(seen.watch, seen.cabinets, colour);
    screen.show(seen.why.empty()
                    ? last
                    : tame(seen.why) + (last.empty() ? "\n" : "\nWhat was seen last:\n\n" + last));
    pace.rest_of_turn();
  }
  return EX_OK;
}

// What makes a line worth writing: how a cabinet and its alarms stand, not each tenth of a degree.
// An end that the daemon works out anew at each look may differ by a hair: that is no change.
class Ends {
 public:
  std::string text(const AlarmView& alarm) {
    if (!alarm.snoozed_until) return {};
    const auto [known, fresh] = ends_.try_emplace(alarm.key, *alarm.snoozed_until);
    if (!fresh && std::chrono::abs(*alarm.snoozed_until - known->second) > std::chrono::seconds{2})
      known->second = *alarm.snoozed_until;
    return to_rfc3339(known->second);
  }

 private:
  std::map<AlarmKey, Wall> ends_;
};

std::string standing_of_cabinet(const CabinetView& cabinet, Ends& ends) {
  std::string key = cabinet.no_data ? "no data" : "";
  for (const AlarmView& alarm : cabinet.alarms)
    if (alarm.state != AlarmState::normal && alarm.state != AlarmState::pending)
      key += "; " + alarm.key.batch + " " + alarm.key.alarm + " " +
             std::string(name_of(alarm.state)) + " " + alarm.acknowledged_by + " " +
             ends.text(alarm);
  for (const BatchView& batch : cabinet.batches) key += "; " + batch.id + " " + batch.stage;
  return key;
}

std::string one_line(std::string text) {
  while (!text.empty() && text.back() == '\n') text.pop_back();
  for (std::size_t at = text.find('\n'); at != std::string::npos; at = text.find('\n', at))
    text.replace(at, 1, "; ");
  return text;
}

// The picture without what passes by itself: the clock.
std::string json_of(const Seen& seen, std::string& key) {
  Json out;
  out["watch"] = Json::parse(seen.watch_json);
  out["cabinets"] = Json::parse(seen.cabinets_json);
  Json still = out;
  for (const char* passing : {"now", "uptime"}) still["watch"].erase(passing);
  key = still.dump();
  return out.dump();
}

// False once nobody reads any more.
bool write_changes(const Seen& seen, const WatchArguments& arguments,
                   std::map<std::string, std::string>& known, Ends& ends) {
  const auto note = [&](const std::string& what, const std::string& key, const std::string& line) {
    if (const auto found = known.find(what); found != known.end() && found->second == key) return;
    known[what] = key;
    std::cout << line << '\n';
  };
  if (!seen.why.empty()) {
    std::cerr << (known[""] == seen.why ? "" : "clutchward: " + tame(seen.why) + "\n");
    known[""] = seen.why;
  } else if (arguments.talk.json) {
    std::string key;
    const std::string json = json_of(seen, key);
    note("", key, json);
  } else {
    known[""].clear();
    for (const CabinetView& cabinet : seen.cabinets)
      note(cabinet.id, standing_of_cabinet(cabinet, ends),
           to_rfc3339(seen.watch.now) + "  " + tame(cabinet.id) + "  " +
               one_line(cabinet_lines(seen.watch, cabinet)));
  }
  return static_cast<bool>(std::cout.flush());
}

int as_lines(const ControlClient& client, const WatchArguments& arguments) {
  std::map<std::string, std::string> known;
  Ends ends;
  Pace pace(arguments.every);
  bool seen_once = false;
  while (!asked_to_end()) {
    pace.begin();
    const Seen seen = look(client);
    if (!seen.why.empty() && !seen_once) return complain(seen.why, EX_UNAVAILABLE);
    seen_once = true;
    if (!write_changes(seen, arguments, known, ends)) {
      std::cout.clear();  // the reader has left: that is how one ends it
      return EX_OK;
    }
    pace.rest_of_turn();
  }
  return EX_OK;
}

int run_watch(const WatchArguments& arguments) {
  const ControlClient client(state_directory(arguments.talk.state));
  watch_for_the_end();
  std::signal(SIGPIPE, SIG_IGN);
  const char* terminal = std::getenv("TERM");
  const bool screen =
      ::isatty(STDOUT_FILENO) == 1 && terminal != nullptr && std::strcmp(terminal, "dumb") != 0;
  return screen && !arguments.talk.json ? on_a_terminal(client, arguments)
                                        : as_lines(client, arguments);
}

}  // namespace

void add_watch(CLI::App& app, Run& run) {
  auto* verb = app.add_subcommand(
      "watch", "The status, kept up to date; without a terminal, a line for each change");
  auto arguments = std::make_shared<WatchArguments>();
  add_talk(*verb, arguments->talk, false);
  verb->add_option("--every", arguments->every, "seconds between two looks")
      ->check(CLI::Range(0.1, 3600.0))
      ->capture_default_str();
  verb->callback([&run, arguments] { run = [arguments] { return run_watch(*arguments); }; });
}

}  // namespace clutchward
