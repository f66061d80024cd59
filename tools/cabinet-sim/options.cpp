#include "options.h"

#include <sysexits.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <charconv>
#include <set>

#include "base/text.h"

namespace clutchward::sim {

namespace {

using namespace std::chrono_literals;

constexpr int kMostCabinets = 100'000;  // as many as a test of a large site could want

// The texts as they were typed; check() turns them into Options.
struct Raw {
  std::string broker = "mqtt://127.0.0.1:1883";
  int count = 1;
  std::vector<std::string> names;
  std::string interval = "10s", turn_every = "45min", duration, start = "2026-03-01T08:00:00Z";
  std::string thermostat = "pi", resolution = "0.01";
  std::vector<std::string> faults;
  bool list_faults = false;
};

struct Wrong {
  std::string why;
};

Span span_of(const std::string& option, const std::string& text, Span least) {
  const auto span = parse_span(text);
  if (!span)
    throw Wrong{option + ": expected a time such as 10s or 1h 30min, not \"" + printable(text) +
                "\""};
  if (*span < least)
    throw Wrong{option + ": expected at least " + to_text(least) + ", not " + to_text(*span)};
  return *span;
}

void read_broker(const std::string& url, Options& options) {
  const auto wrong = [&] {
    return Wrong{"--broker: expected mqtt://HOST[:PORT], not \"" + printable(url) + "\""};
  };
  constexpr std::string_view kScheme = "mqtt://";
  if (!url.starts_with(kScheme)) throw wrong();
  std::string rest = url.substr(kScheme.size());
  if (rest.ends_with('/')) rest.pop_back();
  // An address in brackets holds colons of its own.
  const auto colon = rest.find(':', rest.starts_with('[') ? rest.find(']') : 0);
  options.broker_host = rest.substr(0, colon);
  if (colon != std::string::npos) {
    const char* end = rest.data() + rest.size();
    const auto read = std::from_chars(rest.data() + colon + 1, end, options.broker_port);
    if (read.ec != std::errc{} || read.ptr != end) throw wrong();
  }
  if (options.broker_host.empty() ||
      options.broker_host.find_first_of("/@?") != std::string::npos || options.broker_port < 1 ||
      options.broker_port > 65535)
    throw wrong();
}

std::vector<std::string> names_of(const Raw& raw, bool counted) {
  if (raw.names.empty()) {
    std::vector<std::string> names;
    const auto width = std::to_string(raw.count).size();
    for (int i = 1; i <= raw.count; ++i) {
      const std::string digits = std::to_string(i);
      names.push_back("cabinet-" + std::string(width - digits.size(), '0') + digits);
    }
    return names;
  }
  if (counted) throw Wrong{"--cabinets and --cabinet: expected one of the two"};
  std::set<std::string> seen;
  for (const std::string& name : raw.names) {
    if (!valid_id(name))
      throw Wrong{"--cabinet: \"" + printable(name) +
                  "\" cannot stand in a topic; expected 1 to 64 bytes without blanks, /, + and #"};
    if (!seen.insert(name).second)
      throw Wrong{"--cabinet: \"" + printable(name) + "\" stands twice"};
  }
  return raw.names;
}

void read_faults(const Raw& raw, Options& options) {
  for (const std::string& text : raw.faults) {
    auto fault = parse_fault(text);
    if (!fault) throw Wrong{"--fault: " + fault.why()};
    if (std::ranges::find(options.cabinets, fault->cabinet) == options.cabinets.end()) {
      const std::string near = nearest_word(fault->cabinet, options.cabinets);
      throw Wrong{"--fault: there is no cabinet \"" + printable(fault->cabinet) + "\"" +
                  (near.empty() ? "" : ", did you mean \"" + near + "\"")};
    }
    options.faults.push_back(*fault);
  }
}

void check_prefix(const std::string& prefix) {
  for (std::size_t at = 0; at <= prefix.size();) {
    const auto end = std::min(prefix.find('/', at), prefix.size());
    if (!valid_id(prefix.substr(at, end - at)))
      throw Wrong{"--prefix: expected words with / between them, not \"" + printable(prefix) +
                  "\""};
    at = end + 1;
  }
}

void check(const Raw& raw, bool counted, Options& options) {
  read_broker(raw.broker, options);
  check_prefix(options.settings.prefix);
  options.cabinets = names_of(raw, counted);
  read_faults(raw, options);
  options.settings.interval = span_of("--interval", raw.interval, 100ms);
  options.settings.turn_every =
      raw.turn_every == "off" ? 0ms : span_of("--turn-every", raw.turn_every, 1s);
  if (!raw.duration.empty()) options.duration = span_of("--duration", raw.duration, 1ms);
  options.settings.resolution_k = raw.resolution == "0.1" ? 0.1 : 0.01;
  options.settings.machine.thermostat =
      raw.thermostat == "pi" ? Thermostat::proportional : Thermostat::on_off;
  const auto start = parse_rfc3339(raw.start);
  if (!start)
    throw Wrong{"--start: expected a time such as 2026-03-01T08:00:00Z, not \"" +
                printable(raw.start) + "\""};
  options.start = *start;
  if (!options.record.empty() && !options.duration)
    throw Wrong{"--record: expected --duration as well, or the recording would never end"};
  if (!options.record.empty() && !options.control.empty())
    throw Wrong{"--control: a recording takes no commands; expected --fault"};
}

std::string fault_list() {
  std::string text = "CABINET:FAULT@TIME[+DURATION][=SIZE]\n\n";
  for (const FaultWord& each : fault_words()) {
    std::string line = "  " + std::string(each.word);
    line.resize(16, ' ');
    line += each.meaning;
    if (!each.size.empty()) line += "; SIZE: " + std::string(each.size);
    if (each.usual != 0)
      line += ", usually " + milli_exact(static_cast<std::int64_t>(each.usual * 1000));
    text += line + "\n";
  }
  return text;
}

}  // namespace

std::variant<Options, Ending> read_options(int argc, const char* const* argv) {
  Options o;
  Raw raw;
  CabinetSettings& s = o.settings;
  CLI::App app{"Simulated incubator cabinets that speak MQTT.", "cabinet-sim"};
  app.set_version_flag("--version", CLUTCHWARD_VERSION);
  app.add_option("--broker", raw.broker, "mqtt://HOST[:PORT]")->capture_default_str();
  auto* count = app.add_option("--cabinets", raw.count, "How many, named cabinet-1 and on")
                    ->check(CLI::Range(1, kMostCabinets));
  app.add_option("--cabinet", raw.names, "One cabinet's name (repeatable)")->take_all();
  app.add_option("--prefix", s.prefix, "What the topics begin with")->capture_default_str();
  app.add_option("--interval", raw.interval, "Simulated time between readings")
      ->capture_default_str();
  app.add_option("--speed", o.speed, "Simulated seconds a second")
      ->check(CLI::Range(0.01, 1e6))
      ->capture_default_str();
  app.add_option("--duration", raw.duration, "Simulated time after which to stop");
  app.add_option("--seed", s.seed, "Of noise and offsets")->capture_default_str();
  app.add_flag("--json", s.json, "One JSON payload a cabinet in place of plain numbers");
  app.add_option("--resolution", raw.resolution, "Of the probes: 0.1 or 0.01")
      ->check(CLI::IsMember({"0.1", "0.01"}))
      ->capture_default_str();
  app.add_option("--noise", s.noise_k, "Standard deviation of a reading, degrees")
      ->check(CLI::Range(0.0, 5.0))
      ->capture_default_str();
  app.add_option("--offsets", s.offset_k, "Standard deviation of the probes' fixed errors, degrees")
      ->check(CLI::Range(0.0, 5.0))
      ->capture_default_str();
  app.add_option("--target", s.machine.target_c, "What the thermostat is set to, Celsius")
      ->check(CLI::Range(20.0, 45.0))
      ->capture_default_str();
  app.add_option("--room", s.room_c, "The room's mean temperature, Celsius")
      ->check(CLI::Range(-20.0, 40.0))
      ->capture_default_str();
  app.add_option("--room-swing", s.room_swing_k, "The room above and below its mean over a day")
      ->check(CLI::Range(0.0, 20.0))
      ->capture_default_str();
  app.add_option("--eggs", s.machine.eggs, "Eggs in a cabinet")
      ->check(CLI::Range(0, 1000))
      ->capture_default_str();
  app.add_option("--day", s.day, "Day of incubation at the start")
      ->check(CLI::Range(0.0, 100.0))
      ->capture_default_str();
  app.add_option("--days", s.machine.days, "Length of incubation, days")
      ->check(CLI::Range(1.0, 100.0))
      ->capture_default_str();
  app.add_option("--turn-every", raw.turn_every, "The turner's interval, or off")
      ->capture_default_str();
  app.add_option("--thermostat", raw.thermostat, "pi or on-off")
      ->check(CLI::IsMember({"pi", "on-off"}))
      ->capture_default_str();
  app.add_flag("--cold", s.cold_start,
               "Start at the room's temperature, not settled at the target");
  app.add_option("--fault", raw.faults, "CABINET:FAULT@TIME[+DURATION][=SIZE] (repeatable)")
      ->take_all();
  app.add_flag("--list-faults", raw.list_faults, "Say which faults there are");
  app.add_option("--control", o.control,
                 "Topic that takes CABINET:FAULT[+DURATION][=SIZE] and CABINET:mend");
  app.add_option("--record", o.record,
                 "Write a recording (JSON Lines) to this file, - for standard output");
  app.add_option("--start", raw.start, "The recording's first instant, RFC 3339")
      ->capture_default_str();
  try {
    app.parse(argc, argv);
    if (raw.list_faults) return Ending{EX_OK, fault_list(), ""};
    check(raw, count->count() > 0, o);
  } catch (const CLI::CallForHelp&) {
    return Ending{EX_OK, app.help(), ""};
  } catch (const CLI::CallForVersion&) {
    return Ending{EX_OK, CLUTCHWARD_VERSION "\n", ""};
  } catch (const CLI::ParseError& error) {
    return Ending{EX_USAGE, "", std::string("cabinet-sim: ") + error.what() + "\n"};
  } catch (const Wrong& wrong) {
    return Ending{EX_USAGE, "", "cabinet-sim: " + wrong.why + "\n"};
  }
  return o;
}

}  // namespace clutchward::sim
