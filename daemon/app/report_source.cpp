// Rows to the values of a report.
#include "app/report_source.h"

#include <algorithm>
#include <map>
#include <set>

#include "base/text.h"
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

// Probes of one minute become one: lowest, mean of the means, highest. Rows come in order, but for
// a few of a slow probe.
class MinuteCurve {
 public:
  explicit MinuteCurve(std::vector<CurvePoint>& into) : into_(into) {}
  void take(const HistoryMinute& row) {
    const CurvePoint one{std::chrono::minutes(row.minute), row.low / 1000.0, row.mean / 1000.0,
                         row.high / 1000.0};
    auto at = into_.end();
    if (!into_.empty() && into_.back().at >= one.at)
      at = std::lower_bound(into_.begin(), into_.end(), one.at,
                            [](const CurvePoint& each, Span time) { return each.at < time; });
    const auto place = at - into_.begin();
    if (at == into_.end() || at->at != one.at) {
      into_.insert(at, one);
      probes_.insert(probes_.begin() + place, 1);
      return;
    }
    at->low = std::min(at->low, one.low);
    at->high = std::max(at->high, one.high);
    at->mean += (one.mean - at->mean) / ++probes_[static_cast<std::size_t>(place)];
  }

 private:
  std::vector<CurvePoint>& into_;
  std::vector<int> probes_;
};

class ReportReading {
 public:
  ReportReading(const HistoryFile* file, const HistoryRows& waiting, ReportSource& source)
      : file_(file),
        waiting_(waiting),
        source_(source),
        temperature_(source.temperature),
        humidity_(source.humidity) {}

  // The curves, and until when the batch is known.
  std::optional<HistoryFile::Trouble> curves() {
    const std::optional<Wall> ended = source_.record.ended_at;
    constexpr Wall kOpen = Wall::max();
    for (const Stay& stay : stays_of(source_.record, ended.value_or(kOpen)))
      if (const auto why = minutes(stay)) return why;
    source_.until = ended.value_or(last_.value_or(source_.record.set_at));
    source_.until = std::max(source_.until, source_.record.set_at);
    source_.stays = stays_of(source_.record, source_.until);
    return std::nullopt;
  }

  // Events of the batch, and of the machine it stood in.
  std::optional<HistoryFile::Trouble> events() {
    for (const Stay& stay : source_.stays) {
      const HistoryQuestion question = question_of(stay);
      std::set<std::string> seen;  // of the time that waiting ones may be of
      const Wall from = waiting_.events.empty() ? Wall::max() : waiting_.events.front().at;
      const auto take = [&](const HistoryEvent& row) {
        if (!row.batch.empty() && row.batch != source_.record.id) return true;
        if (row.at >= from && !seen.insert(row.json).second) return true;
        Json event = Json::parse(row.json, nullptr, false);
        if (event.is_object()) source_.events.push_back(std::move(event));
        return true;
      };
      if (file_ != nullptr)
        if (const auto why = file_->events(question, take)) return why;
      for (const HistoryEvent& row : waiting_.events)
        if (row.cabinet == stay.cabinet && row.at >= stay.from && row.at < stay.to) take(row);
    }
    return std::nullopt;
  }

 private:
  static HistoryQuestion question_of(const Stay& stay) {
    HistoryQuestion question;
    question.cabinet = stay.cabinet;
    question.from = stay.from;
    if (stay.to != Wall::max()) question.to = stay.to;
    return question;
  }

  std::optional<HistoryFile::Trouble> minutes(const Stay& stay) {
    std::set<std::string> others;
    if (const Json* cabinet = cabinet_of(source_.schedule, stay.cabinet))
      for (const Json& probe : list(*cabinet, "other_probes"))
        if (probe.is_string()) others.insert(probe.get<std::string>());
    // How far the file goes, by series: what is being committed may stand here and there.
    std::map<std::pair<std::string, std::string>, std::int64_t> told;
    const auto take = [&](const HistoryMinute& row) {
      if (stay.cabinet == source_.record.cabinet)
        last_ = std::max(last_.value_or(Wall{}), Wall(std::chrono::minutes(row.minute + 1)));
      if (others.contains(row.probe)) return true;
      if (row.quantity == name_of(Quantity::temperature)) temperature_.take(row);
      if (row.quantity == name_of(Quantity::humidity)) humidity_.take(row);
      return true;
    };
    if (file_ != nullptr)
      if (const auto why = file_->minutes(question_of(stay), [&](const HistoryMinute& row) {
            if (!waiting_.minutes.empty()) told[{row.probe, row.quantity}] = row.minute;
            return take(row);
          }))
        return why;
    for (const HistoryMinute& row : waiting_.minutes) {
      const Wall at{std::chrono::minutes(row.minute)};
      if (row.cabinet != stay.cabinet || at < stay.from || at >= stay.to) continue;
      const auto known = told.find({row.probe, row.quantity});
      if (known == told.end() || row.minute > known->second) take(row);
    }
    return std::nullopt;
  }

  const HistoryFile* file_;
  const HistoryRows& waiting_;
  ReportSource& source_;
  MinuteCurve temperature_;
  MinuteCurve humidity_;
  std::optional<Wall> last_;
};

Refusal unknown(const std::string& batch, const std::vector<std::string>& known) {
  const std::string near = nearest_word(batch, known);
  std::string all;
  for (const std::string& each : known) all += (all.empty() ? "" : ", ") + printable(each, 60);
  return Refusal{"the history has no batch \"" + printable(batch, 60) + "\"" +
                 (near.empty() ? "" : "; did you mean \"" + printable(near, 60) + "\"?") +
                 (all.empty() ? "; it holds the record of none yet" : "; it has " + all)};
}

// As it is now, with the schedule that it ran by.
Result<HistoryRecord> record_of(const HistoryFile* file, const HistoryRows& waiting,
                                const std::string& batch) {
  std::optional<HistoryRecord> found;
  if (file != nullptr)
    if (const auto why = file->record(batch, found)) return Refusal{why->why};
  for (const HistoryRecord& now : waiting.records) {
    if (now.batch != batch) continue;
    if (!found || !now.schedule_stays) {
      found = now;
      continue;
    }
    found->json = now.json;
  }
  if (found) return std::move(*found);
  std::vector<HistoryRecord> records;
  if (file != nullptr)
    if (const auto why = file->records(records)) return Refusal{why->why};
  std::set<std::string> known;
  for (const HistoryRecord& each : records) known.insert(each.batch);
  for (const HistoryRecord& each : waiting.records) known.insert(each.batch);
  return unknown(batch, {known.begin(), known.end()});
}

}  // namespace

Result<ReportSource> read_report_source(const HistoryFile* file, const HistoryRows& waiting,
                                        const std::string& batch) {
  const auto found = record_of(file, waiting, batch);
  if (!found) return Refusal{found.why()};
  auto record = parse_record(found->json);
  if (!record) return Refusal{"the record of " + printable(batch, 60) + ": " + record.why()};
  ReportSource source;
  source.record = std::move(*record);
  source.schedule = Json::parse(found->schedule, nullptr, false);
  if (!source.schedule.is_object()) source.schedule = Json::object();
  ReportReading reading(file, waiting, source);
  auto why = reading.curves();
  source.stages = stages_of(source);
  if (!why) why = reading.events();
  if (why) return Refusal{why->why};
  return source;
}

}  // namespace clutchward
