// The families are values of prometheus-cpp's core, and its serializer writes the samples: labels,
// escapes, numbers. That library speaks text 0.0.4 only; OpenMetrics 1.0 differs in the lines above
// a family's samples and in its end, which are written here (specification of November 2020).
#include "web/metrics.h"

#include <prometheus/metric_family.h>
#include <prometheus/text_serializer.h>

#include <array>
#include <initializer_list>
#include <iterator>
#include <map>
#include <sstream>
#include <utility>

namespace clutchward {
namespace {

enum class Type : std::uint8_t { gauge, counter, info };

struct Label {
  std::string_view name;
  std::string_view value;
};

std::string written(const prometheus::MetricFamily& family) {
  std::ostringstream out;
  prometheus::TextSerializer().Serialize(out, {family});
  return std::move(out).str();
}

// One family as text. What it was told since the last `settle` is held in the library's wide
// values: of ten thousand cabinets that is to be a few at a time.
class Family {
 public:
  // `unit` must be the end of `name`, or "".
  Family(MetricsForm form, std::string_view name, Type type, std::string_view unit,
         std::string_view help)
      : type_(type) {
    const std::string base(name);
    family_.name = base + (type == Type::counter ? "_total" : type == Type::info ? "_info" : "");
    family_.help = help;
    family_.type =
        type == Type::counter ? prometheus::MetricType::Counter : prometheus::MetricType::Gauge;
    const std::string head = written(family_);
    head_ = head.size();
    text_ = form == MetricsForm::text ? head : open_head(base, unit, head);
  }
  void sample(std::initializer_list<Label> labels, double number) {
    prometheus::ClientMetric& metric = family_.metric.emplace_back();
    for (const Label& label : labels)
      metric.label.push_back({std::string(label.name), std::string(label.value)});
    (type_ == Type::counter ? metric.counter.value : metric.gauge.value) = number;
  }
  void settle() {
    if (family_.metric.empty()) return;
    text_ += std::string_view(written(family_)).substr(head_);
    family_.metric.clear();
  }
  std::string text() && {
    settle();
    return std::move(text_);
  }

 private:
  // The lines above the samples as OpenMetrics has them; the help with the library's escapes.
  std::string open_head(const std::string& base, std::string_view unit,
                        std::string_view head) const {
    constexpr std::array<std::string_view, 3> kTypes = {"gauge", "counter", "info"};
    std::string text;
    const auto line = [&](std::string_view what, std::string_view word) {
      text.append("# ").append(what).append(" ").append(base).append(" ").append(word).append("\n");
    };
    line("TYPE", kTypes.at(static_cast<std::size_t>(type_)));
    if (!unit.empty()) line("UNIT", unit);
    const std::string_view help = head.substr(0, head.find('\n'));
    line("HELP", help.substr(help.find(' ', std::string_view("# HELP ").size()) + 1));
    return text;
  }

  Type type_;
  prometheus::MetricFamily family_;
  std::size_t head_ = 0;  // bytes that the library writes above the samples
  std::string text_;
};

class Exposition {
 public:
  explicit Exposition(MetricsForm form) : form_(form) {}

  void family(std::string_view name, Type type, std::string_view unit, std::string_view help) {
    families_.emplace_back(form_, name, type, unit, help);
  }
  void sample(std::initializer_list<Label> labels, double number) {
    families_.back().sample(labels, number);
  }
  // Exact up to 2^53: a thousand a second for 285,000 years.
  void count(std::initializer_list<Label> labels, std::uint64_t value) {
    sample(labels, static_cast<double>(value));
  }
  std::string finish() && {
    std::string text;
    for (Family& family : families_) text += std::move(family).text();
    return text;
  }

 private:
  MetricsForm form_;
  std::vector<Family> families_;
};

// A value goes stale with its cabinet: better no sample than an old one that looks new.
std::optional<double> fresh(const CabinetView& cabinet, const std::optional<Milli>& value,
                            double divisor) {
  if (cabinet.no_data || !value) return std::nullopt;
  return *value / divisor;
}

constexpr double kMilli = 1000;
constexpr double kMilliPercent = 100'000;  // of a ratio

double seconds(Span span) { return static_cast<double>(span.count()) / kMilli; }

using Value = std::optional<double> (*)(const CabinetView&);

struct Figure {
  std::string_view name;
  std::string_view unit;
  std::string_view help;
  Value value;
};

constexpr Figure kFigures[] = {
    {"clutchward_cabinet_temperature_celsius", "celsius",
     "Temperature of the air probes as last combined; none where that is two values.",
     [](const CabinetView& c) { return fresh(c, c.temperature, kMilli); }},
    {"clutchward_cabinet_hottest_celsius", "celsius", "The hottest fresh air probe.",
     [](const CabinetView& c) { return fresh(c, c.hottest, kMilli); }},
    {"clutchward_cabinet_coldest_celsius", "celsius", "The coldest fresh air probe.",
     [](const CabinetView& c) { return fresh(c, c.coldest, kMilli); }},
    {"clutchward_cabinet_humidity_ratio", "ratio", "Relative humidity.",
     [](const CabinetView& c) { return fresh(c, c.humidity, kMilliPercent); }},
    {"clutchward_cabinet_last_reading_timestamp_seconds", "seconds",
     "When the last accepted reading came.",
     [](const CabinetView& c) {
       return c.last_reading ? std::optional(seconds(c.last_reading->time_since_epoch()))
                             : std::nullopt;
     }},
    {"clutchward_cabinet_fresh", "", "1 while the cabinet has a fresh temperature.",
     [](const CabinetView& c) { return std::optional(c.no_data ? 0.0 : 1.0); }}};

// By priority.
struct AlarmCounts {
  std::array<std::uint64_t, 3> active{};
  std::array<std::uint64_t, 3> unacknowledged{};
  void add(const AlarmView& alarm) {
    const auto priority = static_cast<std::size_t>(alarm.priority);
    active.at(priority) += alarm.active ? 1 : 0;
    unacknowledged.at(priority) += alarm.state == AlarmState::unacknowledged ? 1 : 0;
  }
};

void alarm_families(Exposition& out, const AlarmCounts& alarms) {
  const auto by_severity = [&](const std::array<std::uint64_t, 3>& counts) {
    for (const Priority priority : {Priority::high, Priority::medium, Priority::low})
      out.count({{"severity", name_of(priority)}}, counts.at(static_cast<std::size_t>(priority)));
  };
  out.family("clutchward_alarms_active", Type::gauge, "", "Alarms whose condition stands.");
  by_severity(alarms.active);
  out.family("clutchward_alarms_unacknowledged", Type::gauge, "",
             "Active alarms that nobody has taken.");
  by_severity(alarms.unacknowledged);
}

void watch_families(Exposition& out, const WatchView& watch, std::size_t cabinets) {
  out.family("clutchward_build", Type::info, "", "The version that runs.");
  out.count({{"version", watch.version}}, 1);
  out.family("clutchward_uptime_seconds", Type::gauge, "seconds", "How long this watch has run.");
  out.sample({}, seconds(watch.uptime));
  out.family("clutchward_clock_trusted", Type::gauge, "", "1 once the wall clock has been set.");
  out.count({}, watch.clock_trusted ? 1 : 0);
  out.family("clutchward_mqtt_connected", Type::gauge, "", "1 while the broker connection stands.");
  out.count({}, watch.broker_linked ? 1 : 0);
  out.family("clutchward_store_writable", Type::gauge, "",
             "1 while the state can be made durable.");
  out.count({}, watch.store_writable ? 1 : 0);
  out.family("clutchward_cabinets", Type::gauge, "", "Cabinets known.");
  out.count({}, cabinets);
  out.family("clutchward_cabinets_turned_away", Type::counter, "",
             "Messages of cabinets past max_cabinets.");
  out.count({}, watch.intake.turned_away);
  out.family("clutchward_readings", Type::counter, "", "Readings accepted.");
  out.count({}, watch.intake.accepted);
  out.family("clutchward_payload_errors", Type::counter, "",
             "Payloads that gave no reading, by reason.");
  for (const auto& [reason, count] : watch.intake.rejected) out.count({{"reason", reason}}, count);
  out.family("clutchward_notifications_waiting", Type::gauge, "", "Messages not yet delivered.");
  out.count({}, watch.waiting_messages);
  out.family("clutchward_notifications", Type::counter, "",
             "Tries to deliver a message, by result.");
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

MetricsForm metrics_form(std::string_view accept) {
  const auto asks = [&](std::string_view what) {
    return accept.find(what) != std::string_view::npos;
  };
  return asks("text/plain") && !asks("application/openmetrics-text") ? MetricsForm::text
                                                                     : MetricsForm::open_metrics;
}

std::string_view media_type(MetricsForm form) {
  return form == MetricsForm::text ? "text/plain; version=0.0.4; charset=utf-8"
                                   : "application/openmetrics-text; version=1.0.0; charset=utf-8";
}

struct CabinetMetrics::Parts {
  MetricsForm form;
  std::vector<Family> families;  // one a figure
  AlarmCounts alarms;
  std::size_t cabinets = 0;
};

CabinetMetrics::CabinetMetrics(MetricsForm form)
    : parts_(std::make_unique<Parts>(Parts{form, {}, {}, 0})) {
  for (const Figure& figure : kFigures)
    parts_->families.emplace_back(form, figure.name, Type::gauge, figure.unit, figure.help);
}

CabinetMetrics::~CabinetMetrics() = default;

void CabinetMetrics::add(const CabinetView& cabinet) {
  ++parts_->cabinets;
  for (std::size_t i = 0; i < std::size(kFigures); ++i)
    if (const auto number = kFigures[i].value(cabinet))
      parts_->families[i].sample({{"cabinet", cabinet.id}}, *number);
  for (const AlarmView& alarm : cabinet.alarms) parts_->alarms.add(alarm);
}

void CabinetMetrics::settle() {
  for (Family& family : parts_->families) family.settle();
}

std::string CabinetMetrics::finish(const WatchView& watch) && {
  for (const AlarmView& alarm : watch.alarms) parts_->alarms.add(alarm);
  Exposition out(parts_->form);
  watch_families(out, watch, parts_->cabinets);
  alarm_families(out, parts_->alarms);
  std::string text = std::move(out).finish();
  for (Family& family : parts_->families) text += std::move(family).text();
  if (parts_->form == MetricsForm::open_metrics) text += "# EOF\n";
  return text;
}

std::string metrics(const WatchView& watch, const std::vector<CabinetView>& cabinets,
                    MetricsForm form) {
  CabinetMetrics all(form);
  for (const CabinetView& cabinet : cabinets) all.add(cabinet);
  return std::move(all).finish(watch);
}

}  // namespace clutchward
