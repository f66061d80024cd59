// Questions to the history.
#include <limits>

#include "store/history_file.h"
#include "store/history_statement.h"

namespace clutchward {
namespace {

std::int64_t ms_of(const std::optional<Wall>& time, std::int64_t otherwise) {
  return time ? time->time_since_epoch().count() : otherwise;
}
// The minute that holds `from` and `to` counts where it begins inside.
std::int64_t minute_from(std::int64_t ms) { return ms / 60'000 + (ms % 60'000 > 0 ? 1 : 0); }
constexpr std::int64_t kLatest = std::numeric_limits<std::int64_t>::max() / 2;

}  // namespace

std::optional<HistoryFile::Trouble> HistoryFile::minutes(
    const HistoryQuestion& question, const std::function<bool(const HistoryMinute&)>& take) const {
  Statement ask(database_, R"(
select m.minute, s.cabinet, s.probe, s.quantity, m.low, m.mean, m.high, m.count
from minute m join series s on s.id = m.series
where m.minute >= ?1 and m.minute < ?2 and (?3 = '' or s.cabinet = ?3)
  and (?4 = '' or s.probe = ?4) and (?5 = '' or s.quantity = ?5)
order by m.minute, s.cabinet, s.probe, s.quantity)");
  ask.bind(minute_from(ms_of(question.from, -kLatest)), minute_from(ms_of(question.to, kLatest)),
           question.cabinet, question.probe, question.quantity);
  while (ask.row()) {
    const HistoryMinute row{ask.number(0),
                            ask.text(1),
                            ask.text(2),
                            ask.text(3),
                            static_cast<Milli>(ask.number(4)),
                            static_cast<Milli>(ask.number(5)),
                            static_cast<Milli>(ask.number(6)),
                            ask.number(7)};
    if (!take(row)) return std::nullopt;
  }
  if (!ask.ended()) return trouble("cannot be read");
  return std::nullopt;
}

std::optional<HistoryFile::Trouble> HistoryFile::minutes_of(
    const HistoryQuestion& question, std::int64_t every,
    const std::function<bool(const HistoryMinute&)>& take) const {
  // The key is time first: each minute of each of the cabinet's own series is one look into it.
  Statement ask(database_, R"(
with recursive look(at) as (select ?1 union all select at + ?3 from look where at + ?3 < ?2)
select m.minute, s.probe, s.quantity, m.low, m.mean, m.high, m.count
from look cross join series s cross join minute m
where s.cabinet = ?4 and (?5 = '' or s.quantity = ?5) and m.minute = look.at and m.series = s.id)");
  ask.bind(minute_from(ms_of(question.from, 0)), minute_from(ms_of(question.to, 0)), every,
           question.cabinet, question.quantity);
  while (ask.row()) {
    const HistoryMinute row{ask.number(0),
                            question.cabinet,
                            ask.text(1),
                            ask.text(2),
                            static_cast<Milli>(ask.number(3)),
                            static_cast<Milli>(ask.number(4)),
                            static_cast<Milli>(ask.number(5)),
                            ask.number(6)};
    if (!take(row)) return std::nullopt;
  }
  if (!ask.ended()) return trouble("cannot be read");
  return std::nullopt;
}

std::optional<HistoryFile::Trouble> HistoryFile::events(
    const HistoryQuestion& question, const std::function<bool(const HistoryEvent&)>& take) const {
  Statement ask(database_, R"(
select at, cabinet, batch, json from event
where at >= ?1 and at < ?2 and (?3 = '' or cabinet = ?3) and (?4 = '' or batch = ?4)
order by at, id)");
  ask.bind(ms_of(question.from, -kLatest), ms_of(question.to, kLatest), question.cabinet,
           question.batch);
  while (ask.row()) {
    const HistoryEvent row{Wall(Span(ask.number(0))), ask.text(1), ask.text(2), ask.text(3)};
    if (!take(row)) return std::nullopt;
  }
  if (!ask.ended()) return trouble("cannot be read");
  return std::nullopt;
}

std::optional<HistoryFile::Trouble> HistoryFile::records(std::vector<HistoryRecord>& into) const {
  Statement ask(database_, "select id, json from batch order by id");
  while (ask.row()) into.push_back({ask.text(0), ask.text(1)});
  if (!ask.ended()) return trouble("cannot be read");
  return std::nullopt;
}

}  // namespace clutchward
