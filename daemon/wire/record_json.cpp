// Records as JSON, and back, key by key.
#include "wire/record_json.h"

#include <cmath>
#include <cstdio>

#include "base/text.h"

namespace clutchward {
namespace {

using Json = nlohmann::ordered_json;

// More eggs than any hatchery sets at once.
constexpr std::int64_t kMostEggs = 10'000'000;

Json text(const std::string& value) { return value.empty() ? Json() : Json(value); }
Json time(std::optional<Wall> value) { return value ? Json(to_rfc3339(*value)) : Json(); }
Json decimal(std::optional<double> value) {
  return value ? Json(std::round(*value * 1000) / 1000) : Json();
}

std::string date_text(std::int64_t days) {
  const std::chrono::year_month_day date{
      std::chrono::sys_days{std::chrono::days{static_cast<int>(days)}}};
  char buffer[32];
  std::snprintf(buffer, sizeof buffer, "%04d-%02u-%02u", static_cast<int>(date.year()),
                static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()));
  return buffer;
}

std::optional<std::int64_t> date_of(const std::string& text) {
  const auto midnight = parse_rfc3339(text + "T00:00:00Z");
  if (!midnight) return std::nullopt;
  return std::chrono::floor<std::chrono::days>(*midnight).time_since_epoch().count();
}

template <class Each, class Write>
Json list(const std::vector<Each>& all, Write write) {
  Json items = Json::array();
  for (const Each& each : all) items.push_back(write(each));
  return items;
}

void add_deeds(const BatchRecord& record, Json& out) {
  out["stages"] = list(record.stages, [](const StageBegun& each) {
    return Json{{"at", to_rfc3339(each.at)}, {"stage", each.name}};
  });
  out["candlings"] = list(record.candlings, [](const Candling& each) {
    return Json{{"at", to_rfc3339(each.at)},
                {"removed", fates_json(each.removed)},
                {"by", text(each.by)},
                {"note", text(each.note)}};
  });
  out["weighings"] = list(record.weighings, [](const Weighing& each) {
    return Json{{"at", to_rfc3339(each.at)},
                {"grams", decimal(each.grams)},
                {"eggs", each.eggs},
                {"by", text(each.by)}};
  });
  out["moves"] = list(record.moves, [](const Relocation& each) {
    return Json{{"at", to_rfc3339(each.at)},
                {"from", text(each.from)},
                {"to", text(each.to)},
                {"by", text(each.by)}};
  });
  out["corrections"] = list(record.corrections, [](const Correction& each) {
    return Json{{"at", to_rfc3339(each.at)}, {"by", text(each.by)}, {"what", text(each.what)}};
  });
}

void add_care(const BatchRecord& record, Json& out) {
  out["turning"] = list(record.turning, [](const TurningDay& each) {
    return Json{{"date", date_text(each.date)}, {"by_machine", each.by_machine},
                {"by_hand", each.by_hand},      {"too_short", each.too_short},
                {"too_long", each.too_long},    {"same_side", each.same_side}};
  });
  out["coolings"] = list(record.coolings, [](const CoolingDone& each) {
    return Json{{"from", to_rfc3339(each.from)},
                {"to", to_rfc3339(each.to)},
                {"lowest", each.lowest ? Json(*each.lowest / 1000.0) : Json()},
                {"regained", time(each.regained)},
                {"verdict", text(each.verdict)},
                {"by", text(each.by)}};
  });
}

// One object's keys; the first one of another type is remembered.
class Reader {
 public:
  Reader(const Json& object, std::string path, std::string& fault)
      : object_(object), path_(std::move(path)), fault_(fault) {}

  std::string text(const char* key) const {
    const Json* value = find(key);
    if (value != nullptr && value->is_string()) return value->get<std::string>();
    return expect(value == nullptr, key, "a text"), std::string();
  }
  std::optional<Wall> time(const char* key) const {
    const Json* value = find(key);
    if (value == nullptr) return std::nullopt;
    const auto at = value->is_string() ? parse_rfc3339(value->get<std::string>()) : std::nullopt;
    expect(at.has_value(), key, "a time such as \"2026-03-01T08:00:00Z\"");
    return at;
  }
  std::optional<double> number(const char* key) const {
    const Json* value = find(key);
    if (value == nullptr) return std::nullopt;
    expect(value->is_number(), key, "a number");
    return value->is_number() ? std::optional(value->get<double>()) : std::nullopt;
  }
  int count(const char* key) const {
    const Json* value = find(key);
    if (value == nullptr) return 0;
    const bool whole = value->is_number_integer() && *value >= 0 && *value <= kMostEggs;
    expect(whole, key, "a whole number from 0 on");
    return whole ? value->get<int>() : 0;
  }
  bool flag(const char* key) const {
    const Json* value = find(key);
    expect(value == nullptr || value->is_boolean(), key, "true or false");
    return value != nullptr && value->is_boolean() && value->get<bool>();
  }
  Fates fates(const char* key) const {
    const Json* value = find(key);
    if (value == nullptr) return {};
    const auto read = read_fates(*value);
    if (!read) expect(false, key, read.why());
    return read ? *read : Fates{};
  }
  template <class Each, class Read>
  void list(const char* key, std::vector<Each>& into, Read read) const {
    const Json* value = find(key);
    if (value == nullptr) return;
    expect(value->is_array(), key, "a list");
    if (!value->is_array()) return;
    for (const Json& item : *value) {
      const std::string path = path_ + key + "[" + std::to_string(into.size() + 1) + "].";
      if (!item.is_object()) return expect(false, key, "a list of objects");
      Each each;
      read(Reader(item, path, fault_), each);
      into.push_back(std::move(each));
    }
  }
  void expect(bool holds, const char* key, const std::string& what) const {
    if (holds || !fault_.empty()) return;
    const Json* value = find(key);
    fault_ = path_ + key + " is " + (value != nullptr ? printable(value->dump(), 60) : "missing") +
             "; expected " + what;
  }
  Wall need_time(const char* key) const {
    const auto at = time(key);
    expect(at.has_value(), key, "a time such as \"2026-03-01T08:00:00Z\"");
    return at.value_or(Wall{});
  }

 private:
  const Json* find(const char* key) const {
    const auto at = object_.find(key);
    return at == object_.end() || at->is_null() ? nullptr : &*at;
  }

  const Json& object_;
  std::string path_;
  std::string& fault_;
};

void read_deeds(const Reader& in, BatchRecord& record) {
  in.list("stages", record.stages, [](const Reader& item, StageBegun& each) {
    each = {item.need_time("at"), item.text("stage")};
  });
  in.list("candlings", record.candlings, [](const Reader& item, Candling& each) {
    each = {item.need_time("at"), item.fates("removed"), item.text("by"), item.text("note")};
  });
  in.list("weighings", record.weighings, [](const Reader& item, Weighing& each) {
    each = {item.need_time("at"), item.number("grams").value_or(0), item.count("eggs"),
            item.text("by")};
  });
  in.list("moves", record.moves, [](const Reader& item, Relocation& each) {
    each = {item.need_time("at"), item.text("from"), item.text("to"), item.text("by")};
  });
  in.list("corrections", record.corrections, [](const Reader& item, Correction& each) {
    each = {item.need_time("at"), item.text("by"), item.text("what")};
  });
}

void read_care(const Reader& in, BatchRecord& record) {
  in.list("turning", record.turning, [](const Reader& item, TurningDay& each) {
    const auto date = date_of(item.text("date"));
    item.expect(date.has_value(), "date", "a date such as \"2026-03-01\"");
    each = {date.value_or(0),        item.count("by_machine"), item.count("by_hand"),
            item.count("too_short"), item.count("too_long"),   item.count("same_side")};
  });
  in.list("coolings", record.coolings, [](const Reader& item, CoolingDone& each) {
    each.from = item.need_time("from");
    each.to = item.need_time("to");
    if (const auto lowest = item.number("lowest"))
      each.lowest = static_cast<Milli>(std::llround(*lowest * 1000));
    each.regained = item.time("regained");
    each.verdict = item.text("verdict");
    each.by = item.text("by");
  });
}

}  // namespace

Json fates_json(const Fates& fates) {
  Json out = Json::object();
  for (const auto& [fate, eggs] : fates) out[std::string(name_of(fate))] = eggs;
  return out;
}

Result<Fates> read_fates(const Json& object) {
  if (!object.is_object()) return Refusal{"eggs by fate, such as {\"infertile\": 3}"};
  Fates fates;
  for (const auto& [word, eggs] : object.items()) {
    const auto fate = fate_named(word);
    if (!fate) {
      const std::vector<std::string> known(kFateNames.begin(), kFateNames.end());
      std::string list;
      for (const auto& each : known) list += (list.empty() ? "" : ", ") + each;
      const std::string near = nearest_word(word, known);
      return Refusal{"the fates " + list +
                     (near.empty() ? "" : "; did you mean \"" + near + "\"?")};
    }
    if (!eggs.is_number_integer() || eggs < 0 || eggs > kMostEggs)
      return Refusal{"a whole number of eggs for " + word};
    if (eggs > 0) fates[*fate] = eggs.get<int>();
  }
  return fates;
}

Json record_json(const BatchRecord& record) {
  Json out;
  out["batch"] = record.id;
  out["profile"] = record.profile;
  out["name"] = record.name;
  out["cabinet"] = record.cabinet;
  out["set_at"] = to_rfc3339(record.set_at);
  out["days"] = decimal(record.days);
  out["eggs"] = record.eggs > 0 ? Json(record.eggs) : Json();
  out["eggs_left"] = record.eggs > 0 ? Json(record.eggs_left()) : Json();
  out["stored_days"] = decimal(record.stored_days);
  out["set"] = record.set;
  out["ended_at"] = time(record.ended_at);
  out["ended_by"] = text(record.ended_by);
  out["outcome"] = fates_json(record.outcome);
  out["note"] = text(record.note);
  out["split_from"] = text(record.split_from);
  add_deeds(record, out);
  add_care(record, out);
  return out;
}

std::string to_json(const BatchRecord& record) {
  return record_json(record).dump(-1, ' ', false, Json::error_handler_t::replace);
}

Result<BatchRecord> read_record(const Json& object) {
  if (!object.is_object()) return Refusal{"not a JSON object"};
  std::string fault;
  const Reader in(object, "", fault);
  BatchRecord record;
  record.id = in.text("batch");
  in.expect(!record.id.empty(), "batch", "the id of the batch");
  record.profile = in.text("profile");
  record.name = in.text("name");
  record.cabinet = in.text("cabinet");
  record.set_at = in.need_time("set_at");
  record.days = in.number("days").value_or(0);
  record.eggs = in.count("eggs");
  record.stored_days = in.number("stored_days");
  record.set = in.flag("set");
  record.ended_at = in.time("ended_at");
  record.ended_by = in.text("ended_by");
  record.outcome = in.fates("outcome");
  record.note = in.text("note");
  record.split_from = in.text("split_from");
  read_deeds(in, record);
  read_care(in, record);
  if (!fault.empty()) return Refusal{fault};
  return record;
}

Result<BatchRecord> parse_record(std::string_view text) {
  const Json object = Json::parse(text.begin(), text.end(), nullptr, /*allow_exceptions=*/false);
  if (object.is_discarded()) return Refusal{"not a JSON object: " + printable(text, 60)};
  return read_record(object);
}

Json date_json(const BatchDate& date) {
  Json out;
  out["task"] = name_of(date.kind);
  out["number"] = date.number;
  out["from"] = to_rfc3339(date.from);
  out["to"] = to_rfc3339(date.to);
  out["what"] = date.what;
  out["done"] = date.done;
  out["recorded"] = date.recorded;
  return out;
}

}  // namespace clutchward
