// A batch out of the history: its record, where it stood, its curves and its events.
#include <algorithm>

#include "base/text.h"
#include "report.h"
#include "wire/record_json.h"

namespace clutchward {
namespace {

std::optional<double> number(const Json& object, const char* key) {
  const auto at = object.find(key);
  if (at == object.end() || !at->is_number()) return std::nullopt;
  return at->get<double>();
}

std::string text(const Json& object, const char* key) {
  const auto at = object.find(key);
  return at != object.end() && at->is_string() ? at->get<std::string>() : std::string();
}

const Json& list(const Json& object, const char* key) {
  static const Json kNone = Json::array();
  const auto at = object.find(key);
  return at != object.end() && at->is_array() ? *at : kNone;
}

Span days(double count) {
  return std::chrono::duration_cast<Span>(std::chrono::duration<double, std::ratio<86400>>(count));
}

std::vector<Stay> stays_of(const BatchRecord& record, Wall until) {
  std::vector<Stay> stays;
  Wall from = record.set_at;
  for (const Relocation& move : record.moves) {
    const Wall at = std::clamp(move.at, from, until);
    if (at > from && !move.from.empty()) stays.push_back({move.from, from, at});
    from = at;
  }
  stays.push_back({record.cabinet, from, until});
  return stays;
}

const Json* cabinet_of(const Json& schedule, const std::string& id) {
  for (const Json& each : list(schedule, "cabinets"))
    if (text(each, "cabinet") == id) return &each;
  return nullptr;
}

bool still_air_at(const ReportSource& source, Span at) {
  for (const Stay& stay : source.stays) {
    const Json* cabinet = cabinet_of(source.schedule, stay.cabinet);
    if (at >= stay.from.time_since_epoch() && at < stay.to.time_since_epoch())
      return cabinet != nullptr && cabinet->value("still_air", false);
  }
  return false;
}

// When a stage began: as the record has it, else by its day. A move that began one early is in the
// record.
std::vector<StageSpan> stages_of(const ReportSource& source) {
  std::vector<StageSpan> stages;
  const Span set = source.record.set_at.time_since_epoch();
  for (const Json& each : list(source.schedule, "stages")) {
    StageSpan stage;
    stage.name = text(each, "stage");
    stage.from = set + days(number(each, "from_day").value_or(0));
    for (const StageBegun& begun : source.record.stages)
      if (begun.name == stage.name && begun.at.time_since_epoch() > set)
        stage.from = begun.at.time_since_epoch();
    if (stage.from >= source.until.time_since_epoch()) break;
    stage.target = number(each, "target").value_or(0);
    if (still_air_at(source, stage.from))
      stage.target = number(each, "target_still").value_or(stage.target);
    if (const auto band = each.find("humidity"); band != each.end() && band->is_object()) {
      stage.humid_from = number(*band, "from");
      stage.humid_to = number(*band, "to");
    }
    stage.to = source.until.time_since_epoch();
    if (!stages.empty()) stages.back().to = stage.from;
    stages.push_back(std::move(stage));
  }
  return stages;
}

// Probes of one minute become one: lowest, mean of the means, highest.
class Curve {
 public:
  explicit Curve(std::vector<CurvePoint>& into) : into_(into) {}
  void take(const HistoryMinute& row) {
    const Span at = std::chrono::minutes(row.minute);
    if (into_.empty() || into_.back().at != at) {
      into_.push_back({at, row.low / 1000.0, row.mean / 1000.0, row.high / 1000.0});
      probes_ = 1;
      return;
    }
    CurvePoint& point = into_.back();
    point.low = std::min(point.low, row.low / 1000.0);
    point.high = std::max(point.high, row.high / 1000.0);
    point.mean += (row.mean / 1000.0 - point.mean) / ++probes_;
  }

 private:
  std::vector<CurvePoint>& into_;
  int probes_ = 0;
};

std::optional<HistoryFile::Trouble> read_curve(const HistoryFile& file, const ReportSource& source,
                                               const char* quantity,
                                               std::vector<CurvePoint>& into) {
  Curve curve(into);
  for (const Stay& stay : source.stays) {
    std::vector<std::string> others;
    if (const Json* cabinet = cabinet_of(source.schedule, stay.cabinet))
      for (const Json& probe : list(*cabinet, "other_probes"))
        if (probe.is_string()) others.push_back(probe.get<std::string>());
    HistoryQuestion question;
    question.cabinet = stay.cabinet;
    question.quantity = quantity;
    question.from = stay.from;
    question.to = stay.to;
    const auto why = file.minutes(question, [&](const HistoryMinute& row) {
      if (std::find(others.begin(), others.end(), row.probe) == others.end()) curve.take(row);
      return true;
    });
    if (why) return why;
  }
  return std::nullopt;
}

// Events of the batch, and of the machine it stood in.
std::optional<HistoryFile::Trouble> read_events(const HistoryFile& file, ReportSource& source) {
  for (const Stay& stay : source.stays) {
    HistoryQuestion question;
    question.cabinet = stay.cabinet;
    question.from = stay.from;
    question.to = stay.to;
    const auto why = file.events(question, [&](const HistoryEvent& row) {
      if (!row.batch.empty() && row.batch != source.record.id) return true;
      Json event = Json::parse(row.json, nullptr, false);
      if (event.is_object()) source.events.push_back(std::move(event));
      return true;
    });
    if (why) return why;
  }
  return std::nullopt;
}

std::optional<Wall> last_minute(const HistoryFile& file, const std::string& cabinet, Wall from) {
  std::optional<Wall> last;
  HistoryQuestion question;
  question.cabinet = cabinet;
  question.from = from;
  file.minutes(question, [&](const HistoryMinute& row) {
    last = Wall(std::chrono::minutes(row.minute + 1));
    return true;
  });
  return last;
}

}  // namespace

Result<ReportSource> read_report_source(const HistoryFile& file, const std::string& batch) {
  std::vector<HistoryRecord> records;
  if (const auto why = file.records(records)) return Refusal{why->why};
  std::vector<std::string> known;
  ReportSource source;
  const HistoryRecord* found = nullptr;
  for (const HistoryRecord& each : records) {
    known.push_back(each.batch);
    if (each.batch == batch) found = &each;
  }
  if (found == nullptr) {
    const std::string near = nearest_word(batch, known);
    std::string all;
    for (const std::string& each : known) all += (all.empty() ? "" : ", ") + printable(each, 60);
    return Refusal{"the history has no batch \"" + printable(batch, 60) + "\"" +
                   (near.empty() ? "" : "; did you mean \"" + printable(near, 60) + "\"?") +
                   (all.empty() ? "; it holds the record of none yet" : "; it has " + all)};
  }
  auto record = parse_record(found->json);
  if (!record) return Refusal{"the record of " + printable(batch, 60) + ": " + record.why()};
  source.record = std::move(*record);
  source.schedule = Json::parse(found->schedule, nullptr, false);
  if (!source.schedule.is_object()) source.schedule = Json::object();
  source.until =
      source.record.ended_at.value_or(last_minute(file, source.record.cabinet, source.record.set_at)
                                          .value_or(source.record.set_at));
  source.until = std::max(source.until, source.record.set_at);
  source.stays = stays_of(source.record, source.until);
  source.stages = stages_of(source);
  auto why = read_curve(file, source, "temperature", source.temperature);
  if (!why) why = read_curve(file, source, "humidity", source.humidity);
  if (!why) why = read_events(file, source);
  if (why) return Refusal{why->why};
  return source;
}

}  // namespace clutchward
