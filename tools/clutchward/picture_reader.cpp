// JSON -> views.
#include "picture_reader.h"

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "base/text.h"
#include "loop/zone_loader.h"

namespace clutchward {
namespace {

using nlohmann::json;

const json& at(const json& object, const char* key) {
  static const json kNothing;
  if (!object.is_object()) return kNothing;
  const auto found = object.find(key);
  return found == object.end() ? kNothing : *found;
}

std::string text(const json& object, const char* key) {
  const json& value = at(object, key);
  return value.is_string() ? value.get<std::string>() : std::string();
}
bool flag(const json& object, const char* key, bool otherwise = false) {
  const json& value = at(object, key);
  return value.is_boolean() ? value.get<bool>() : otherwise;
}
double number(const json& object, const char* key) {
  const json& value = at(object, key);
  return value.is_number() ? value.get<double>() : 0;
}
std::uint64_t count(const json& object, const char* key) {
  const json& value = at(object, key);
  return value.is_number_unsigned() ? value.get<std::uint64_t>() : 0;
}
std::optional<Milli> milli(const json& object, const char* key) {
  const json& value = at(object, key);
  if (!value.is_number() || std::abs(value.get<double>()) > 1e6) return std::nullopt;
  return static_cast<Milli>(std::lround(value.get<double>() * 1000));
}
std::optional<Wall> time(const json& object, const char* key) {
  return parse_rfc3339(text(object, key));
}

template <class Enum, std::size_t kCount>
Enum word(const json& object, const char* key, const std::array<std::string_view, kCount>& names,
          Enum otherwise) {
  const std::string found = text(object, key);
  for (std::size_t i = 0; i < kCount; ++i)
    if (names.at(i) == found) return static_cast<Enum>(i);
  return otherwise;
}

constexpr std::array<std::string_view, 3> kPriorities = {"low", "medium", "high"};
constexpr std::array<std::string_view, 4> kTrends = {"unknown", "steady", "rising", "falling"};

AlarmView alarm_of(const json& in, const std::string& cabinet) {
  AlarmView alarm;
  alarm.key = {cabinet, text(in, "batch"), text(in, "alarm")};
  alarm.state = word(in, "state", kAlarmStateNames, AlarmState::normal);
  alarm.priority = word(in, "priority", kPriorities, Priority::medium);
  alarm.kind = word(in, "kind", kRuleKindNames, RuleKind::above);
  alarm.quantity = word(in, "quantity", kQuantityNames, Quantity::temperature);
  alarm.signal = text(in, "signal");
  alarm.says = text(in, "says");
  alarm.part_of = text(in, "part_of");
  alarm.harm = milli(in, "harm");
  alarm.harm_at = time(in, "harm_at");
  alarm.harm_from = time(in, "harm_from");
  alarm.harm_until = time(in, "harm_until");
  alarm.active = flag(in, "active");
  alarm.acknowledged = flag(in, "acknowledged");
  alarm.latched = flag(in, "latched");
  alarm.no_data = flag(in, "no_data");
  alarm.snoozed_until = time(in, "snoozed_until");
  alarm.snoozed_by = text(in, "snoozed_by");
  alarm.acknowledged_by = text(in, "acknowledged_by");
  alarm.acknowledged_at = time(in, "acknowledged_at");
  alarm.raised_at = time(in, "raised_at");
  alarm.since = time(in, "since");
  alarm.returned_at = time(in, "returned_at");
  alarm.value = milli(in, "value");
  alarm.limit = milli(in, "limit");
  alarm.worst = milli(in, "worst");
  alarm.episode = text(in, "episode");
  alarm.out_of_service_until = time(in, "out_of_service_until");
  alarm.out_of_service_by = text(in, "out_of_service_by");
  alarm.out_of_service_why = text(in, "reason");
  for (const json& reason : at(in, "suppressed_for"))
    if (reason.is_string()) alarm.suppressed_for.push_back(reason.get<std::string>());
  return alarm;
}

BatchView batch_of(const json& in) {
  BatchView batch;
  batch.id = text(in, "batch");
  batch.profile = text(in, "profile");
  batch.name = text(in, "name");
  batch.set_at = time(in, "set_at").value_or(Wall{});
  batch.set = flag(in, "set");
  batch.day = number(in, "day");
  batch.days = number(in, "days");
  batch.stage = text(in, "stage");
  batch.target = milli(in, "target").value_or(0);
  batch.turning_due = flag(in, "turning_due");
  batch.cooling = flag(in, "cooling");
  batch.eggs = static_cast<int>(std::clamp(number(in, "eggs"), 0.0, 1e9));
  batch.eggs_left = static_cast<int>(std::clamp(number(in, "eggs_left"), 0.0, 1e9));
  batch.phase = word(in, "phase", kPhaseNames, batch.set ? Phase::set : Phase::planned);
  return batch;
}

CabinetView cabinet_of(const json& in) {
  CabinetView cabinet;
  cabinet.id = text(in, "cabinet");
  cabinet.name = text(in, "name");
  cabinet.no_data = flag(in, "no_data", true);
  cabinet.temperature = milli(in, "temperature");
  cabinet.hottest = milli(in, "hottest");
  cabinet.coldest = milli(in, "coldest");
  cabinet.humidity = milli(in, "humidity");
  cabinet.trend = word(in, "trend", kTrends, Trend::unknown);
  cabinet.last_reading = time(in, "last_reading");
  cabinet.last_turn = time(in, "last_turn");
  if (at(in, "power").is_boolean()) cabinet.power = flag(in, "power");
  cabinet.cooling = flag(in, "cooling");
  cabinet.attending_until = time(in, "attending_until");
  cabinet.attending_by = text(in, "attending_by");
  for (const json& batch : at(in, "batches")) cabinet.batches.push_back(batch_of(batch));
  for (const json& alarm : at(in, "alarms")) cabinet.alarms.push_back(alarm_of(alarm, cabinet.id));
  return cabinet;
}

Refusal unreadable(const std::string& text) {
  return Refusal{"the daemon's answer is not understood: " + printable(text, 80)};
}

}  // namespace

Result<std::vector<CabinetView>> read_cabinets(const std::string& text) {
  const json all = json::parse(text, nullptr, false);
  if (!all.is_array()) return unreadable(text);
  std::vector<CabinetView> cabinets;
  for (const json& each : all) cabinets.push_back(cabinet_of(each));
  return cabinets;
}

Result<CabinetView> read_cabinet(const std::string& text) {
  const json in = json::parse(text, nullptr, false);
  if (!in.is_object()) return unreadable(text);
  return cabinet_of(in);
}

Result<WatchView> read_watch(const std::string& json_text) {
  const json in = json::parse(json_text, nullptr, false);
  if (!in.is_object()) return unreadable(json_text);
  WatchView watch;
  watch.version = text(in, "version");
  watch.site = text(in, "site");
  if (const auto zone = load_zone(text(in, "timezone"))) watch.zone = *zone;
  watch.show = text(in, "show") == "fahrenheit" ? Show::fahrenheit : Show::celsius;
  watch.now = time(in, "now").value_or(Wall{});
  watch.clock_trusted = flag(in, "clock_trusted", true);
  watch.uptime = Span{std::llround(number(in, "uptime") * 1000)};
  const json& broker = at(in, "broker");
  watch.broker_linked = flag(broker, "linked");
  watch.broker_since = time(broker, "since");
  watch.broker_trouble = text(broker, "trouble");
  watch.store_writable = flag(at(in, "store"), "writable", true);
  watch.store_trouble = text(at(in, "store"), "trouble");
  watch.waiting_messages = count(in, "waiting_messages");
  for (const json& each : at(in, "channels"))
    watch.channels.push_back({text(each, "contact"), text(each, "kind"), count(each, "delivered"),
                              count(each, "failed"), count(each, "waiting"),
                              time(each, "last_delivered"), text(each, "trouble")});
  const json& intake = at(in, "intake");
  watch.intake.accepted = count(intake, "accepted");
  watch.intake.turned_away = count(intake, "turned_away");
  std::uint64_t rejected = 0;
  for (const json& each : at(intake, "rejected"))
    if (each.is_number_unsigned()) rejected += each.get<std::uint64_t>();
  watch.intake.rejected = {{"rejected", rejected}};
  for (const json& each : at(in, "alarms")) watch.alarms.push_back(alarm_of(each, ""));
  for (const json& each : at(in, "faults"))
    watch.faults.push_back({text(each, "what"), text(each, "detail"),
                            time(each, "since").value_or(Wall{}),
                            flag(each, "elsewhere") ? Shown::elsewhere : Shown::as_fault});
  watch.beats_withheld = text(in, "beats_withheld");
  return watch;
}

}  // namespace clutchward
