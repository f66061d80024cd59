// OpenMetrics 1.0 text (the exposition format of the specification of November 2020): families with
// TYPE, UNIT and HELP, samples with escaped labels, "# EOF" at the end.
#include "web/metrics.h"

#include <array>
#include <functional>
#include <map>

#include "base/text.h"

namespace clutchward {
namespace {

// Label values: backslash, quote and line feed are escaped; all else is UTF-8 as it is.
std::string escaped(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (c == '\\' || c == '"') out += '\\';
    if (c == '\n') {
      out += "\\n";
      continue;
    }
    out += c;
  }
  return out;
}

struct Label {
  std::string_view name;
  std::string_view value;
};

class Exposition {
 public:
  // `unit` must be the end of `name`, or "".
  void family(std::string_view name, std::string_view type, std::string_view unit,
              std::string_view help) {
    name_ = name;
    suffix_ = type == "counter" ? "_total" : type == "info" ? "_info" : "";
    text_.append("# TYPE ").append(name).append(" ").append(type).append("\n");
    if (!unit.empty()) text_.append("# UNIT ").append(name).append(" ").append(unit).append("\n");
    text_.append("# HELP ").append(name).append(" ").append(help).append("\n");
  }
  void sample(std::initializer_list<Label> labels, std::string_view number) {
    text_.append(name_).append(suffix_);
    const char* before = "{";
    for (const Label& label : labels) {
      text_.append(before)
          .append(label.name)
          .append("=\"")
          .append(escaped(label.value))
          .append("\"");
      before = ",";
    }
    if (labels.size() > 0) text_ += '}';
    text_.append(" ").append(number).append("\n");
  }
  void count(std::initializer_list<Label> labels, std::uint64_t value) {
    sample(labels, std::to_string(value));
  }
  std::string finish() && { return std::move(text_) + "# EOF\n"; }

 private:
  std::string text_;
  std::string name_;
  std::string suffix_;
};

std::string seconds(std::int64_t milliseconds) { return milli_exact(milliseconds); }

// 55.25 % -> 0.5525: exact, by moving the point.
std::string ratio(Milli percent) {
  std::string digits = std::to_string(percent);
  if (digits.size() < 6) digits.insert(0, 6 - digits.size(), '0');
  digits.insert(digits.size() - 5, ".");
  return digits;
}

using Value = std::function<std::string(const CabinetView&)>;

void of_cabinets(Exposition& out, const std::vector<CabinetView>& cabinets, std::string_view name,
                 std::string_view unit, std::string_view help, const Value& value) {
  out.family(name, "gauge", unit, help);
  for (const CabinetView& cabinet : cabinets)
    if (const std::string number = value(cabinet); !number.empty())
      out.sample({{"cabinet", cabinet.id}}, number);
}

std::string celsius(const std::optional<Milli>& value) {
  return value ? milli_exact(*value) : std::string();
}

// A value goes stale with its cabinet: better no sample than an old one that looks new.
void cabinet_families(Exposition& out, const std::vector<CabinetView>& cabinets) {
  of_cabinets(out, cabinets, "clutchward_cabinet_temperature_celsius", "celsius",
              "Temperature of the air probes as last combined; none where that is two values.",
              [](const CabinetView& c) { return c.no_data ? "" : celsius(c.temperature); });
  of_cabinets(out, cabinets, "clutchward_cabinet_hottest_celsius", "celsius",
              "The hottest fresh air probe.",
              [](const CabinetView& c) { return c.no_data ? "" : celsius(c.hottest); });
  of_cabinets(out, cabinets, "clutchward_cabinet_coldest_celsius", "celsius",
              "The coldest fresh air probe.",
              [](const CabinetView& c) { return c.no_data ? "" : celsius(c.coldest); });
  of_cabinets(out, cabinets, "clutchward_cabinet_humidity_ratio", "ratio", "Relative humidity.",
              [](const CabinetView& c) {
                return c.no_data || !c.humidity ? std::string() : ratio(*c.humidity);
              });
  of_cabinets(out, cabinets, "clutchward_cabinet_last_reading_timestamp_seconds", "seconds",
              "When the last accepted reading came.", [](const CabinetView& c) {
                return c.last_reading ? seconds(c.last_reading->time_since_epoch().count())
                                      : std::string();
              });
  of_cabinets(out, cabinets, "clutchward_cabinet_fresh", "",
              "1 while the cabinet has a fresh temperature.",
              [](const CabinetView& c) { return std::string(c.no_data ? "0" : "1"); });
}

void alarm_families(Exposition& out, const WatchView& watch,
                    const std::vector<CabinetView>& cabinets) {
  std::array<std::uint64_t, 3> active{};
  std::array<std::uint64_t, 3> unacknowledged{};
  const auto add = [&](const AlarmView& alarm) {
    const auto priority = static_cast<std::size_t>(alarm.priority);
    active.at(priority) += alarm.active ? 1 : 0;
    unacknowledged.at(priority) += alarm.state == AlarmState::unacknowledged ? 1 : 0;
  };
  for (const CabinetView& cabinet : cabinets)
    for (const AlarmView& alarm : cabinet.alarms) add(alarm);
  for (const AlarmView& alarm : watch.alarms) add(alarm);
  const auto by_severity = [&](const std::array<std::uint64_t, 3>& counts) {
    for (const Priority priority : {Priority::high, Priority::medium, Priority::low})
      out.count({{"severity", name_of(priority)}}, counts.at(static_cast<std::size_t>(priority)));
  };
  out.family("clutchward_alarms_active", "gauge", "", "Alarms whose condition stands.");
  by_severity(active);
  out.family("clutchward_alarms_unacknowledged", "gauge", "",
             "Active alarms that nobody has taken.");
  by_severity(unacknowledged);
}

void watch_families(Exposition& out, const WatchView& watch, std::size_t cabinets) {
  out.family("clutchward_build", "info", "", "The version that runs.");
  out.count({{"version", watch.version}}, 1);
  out.family("clutchward_uptime_seconds", "gauge", "seconds", "How long this watch has run.");
  out.sample({}, seconds(watch.uptime.count()));
  out.family("clutchward_clock_trusted", "gauge", "", "1 once the wall clock has been set.");
  out.count({}, watch.clock_trusted ? 1 : 0);
  out.family("clutchward_mqtt_connected", "gauge", "", "1 while the broker connection stands.");
  out.count({}, watch.broker_linked ? 1 : 0);
  out.family("clutchward_store_writable", "gauge", "", "1 while the state can be made durable.");
  out.count({}, watch.store_writable ? 1 : 0);
  out.family("clutchward_cabinets", "gauge", "", "Cabinets known.");
  out.count({}, cabinets);
  out.family("clutchward_cabinets_turned_away", "counter", "",
             "Messages of cabinets past max_cabinets.");
  out.count({}, watch.intake.turned_away);
  out.family("clutchward_readings", "counter", "", "Readings accepted.");
  out.count({}, watch.intake.accepted);
  out.family("clutchward_payload_errors", "counter", "",
             "Payloads that gave no reading, by reason.");
  for (const auto& [reason, count] : watch.intake.rejected) out.count({{"reason", reason}}, count);
  out.family("clutchward_notifications_waiting", "gauge", "", "Messages not yet delivered.");
  out.count({}, watch.waiting_messages);
  out.family("clutchward_notifications", "counter", "", "Tries to deliver a message, by result.");
  // A contact may have two channels of one kind; a series must not stand twice.
  std::map<std::pair<std::string, std::string>, std::pair<std::uint64_t, std::uint64_t>> tries;
  for (const ChannelWatch& channel : watch.channels) {
    auto& [delivered, failed] = tries[{channel.contact, channel.kind}];
    delivered += channel.delivered;
    failed += channel.failed;
  }
  for (const auto& [whose, results] : tries) {
    const auto& [contact, kind] = whose;
    out.count({{"contact", contact}, {"channel", kind}, {"result", "delivered"}}, results.first);
    out.count({{"contact", contact}, {"channel", kind}, {"result", "failed"}}, results.second);
  }
}

}  // namespace

std::string open_metrics(const WatchView& watch, const std::vector<CabinetView>& cabinets) {
  Exposition out;
  watch_families(out, watch, cabinets.size());
  alarm_families(out, watch, cabinets);
  cabinet_families(out, cabinets);
  return std::move(out).finish();
}

}  // namespace clutchward
