// Questions to the history.
#include <algorithm>
#include <map>
#include <unordered_map>
#include <utility>

#include "store/history_file.h"
#include "store/history_statement.h"
#include "store/minute_pack.h"

namespace clutchward {
namespace {

std::int64_t ms_of(const std::optional<Wall>& time, std::int64_t otherwise) {
  return time ? time->time_since_epoch().count() : otherwise;
}

// In milliseconds; in minutes its key still fits.
constexpr std::int64_t kLatest = std::int64_t{1} << 56;
// A told_key() is no wider than this in milliseconds.
constexpr std::int64_t kEnd = std::int64_t{1} << 42;
constexpr int kToldVersion = 3;  // the first that keeps who was told
// The minute that holds `from` and `to` counts where it begins inside.
std::int64_t minute_from(std::int64_t ms) { return ms / 60'000 + (ms % 60'000 > 0 ? 1 : 0); }

}  // namespace

std::optional<HistoryFile::Trouble> HistoryFile::minutes(
    const HistoryQuestion& question, const std::function<bool(const HistoryMinute&)>& take) const {
  return minutes_of(question, 1, take);
}

std::optional<HistoryFile::Trouble> HistoryFile::minutes_of(
    const HistoryQuestion& question, std::int64_t every,
    const std::function<bool(const HistoryMinute&)>& take) const {
  // In the order in which the probes of one minute are told; by number in the packs.
  std::vector<HistoryMinute> series;
  std::unordered_map<std::int64_t, std::size_t> wanted;
  Statement names(database_, R"(
select id, cabinet, probe, quantity from series
where (?1 = '' or cabinet = ?1) and (?2 = '' or probe = ?2) and (?3 = '' or quantity = ?3)
order by cabinet, probe, quantity)");
  names.bind(question.cabinet, question.probe, question.quantity);
  while (names.row()) {
    wanted[names.number(0)] = series.size();
    series.push_back({0, names.text(1), names.text(2), names.text(3)});
  }
  if (!names.ended()) return trouble("cannot be read");

  const std::int64_t from = minute_from(ms_of(question.from, 0));
  const std::int64_t to = minute_from(ms_of(question.to, kLatest));
  Statement ask(database_, "select id, minutes from pack where id >= ? and id < ? order by id");
  ask.bind(pack_key(from - kPackMinutes, 0), pack_key(to, 0));
  // Minutes that a pack still to come cannot reach are told; the others wait here in their order.
  std::map<std::pair<std::int64_t, std::size_t>, PackedMinute> waiting;
  const auto tell_before = [&](std::int64_t before) {
    while (!waiting.empty() && waiting.begin()->first.first < before) {
      const auto next = waiting.extract(waiting.begin());
      const PackedMinute& minute = next.mapped();
      HistoryMinute& row = series[next.key().second];
      row.minute = next.key().first;
      row.low = minute.low;
      row.mean = minute.mean;
      row.high = minute.high;
      row.count = minute.count;
      if (!take(row)) return false;
    }
    return true;
  };
  constexpr std::int64_t kMask = (std::int64_t{1} << kSeriesBits) - 1;
  while (ask.row()) {
    const std::int64_t first = ask.number(0) >> kSeriesBits;
    if (!tell_before(first)) return std::nullopt;
    const auto place = wanted.find(ask.number(0) & kMask);
    if (place == wanted.end()) continue;
    const auto minutes = unpack(first, ask.bytes(1));
    if (!minutes) return Trouble{path_ + ": minutes of a pack cannot be read", true};
    for (const PackedMinute& each : *minutes) {
      if (each.minute < from || each.minute >= to || (each.minute - from) % every != 0) continue;
      const auto [at, fresh] = waiting.try_emplace({each.minute, place->second}, each);
      if (!fresh) at->second = added_up(at->second, each);
    }
  }
  if (!ask.ended()) return trouble("cannot be read");
  tell_before(kLatest);
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

std::optional<HistoryFile::Trouble> HistoryFile::told(
    const HistoryQuestion& question, const std::function<bool(const HistoryTold&)>& take) const {
  if (version_ < kToldVersion) return std::nullopt;
  const auto key = [](std::int64_t ms) { return told_key(std::clamp(ms, -kEnd, kEnd), 0); };
  Statement ask(database_, R"(
select id, contact, way, urgency, sort, cabinet, batch, alarm, episode, first_line, alarms, delivered
from told where id >= ?1 and id < ?2 and (?3 = '' or cabinet = ?3) and (?4 = '' or batch = ?4)
order by id)");
  ask.bind(key(ms_of(question.from, -kEnd)), key(ms_of(question.to, kEnd)), question.cabinet,
           question.batch);
  while (ask.row()) {
    HistoryTold row;
    row.at = Wall(Span(ask.number(0) >> kNumberBits));
    row.number = static_cast<std::uint64_t>(ask.number(0)) & ((1U << kNumberBits) - 1);
    int column = 0;
    for (std::string* text : {&row.contact, &row.way, &row.urgency, &row.sort, &row.cabinet,
                              &row.batch, &row.alarm, &row.episode, &row.first_line, &row.alarms})
      *text = ask.text(++column);
    if (const std::int64_t at = ask.number(++column); at != 0) row.delivered_at = Wall(Span(at));
    if (!take(row)) return std::nullopt;
  }
  if (!ask.ended()) return trouble("cannot be read");
  return std::nullopt;
}

std::optional<HistoryFile::Trouble> HistoryFile::told_from(std::optional<Wall>& into) const {
  into.reset();
  if (version_ < kToldVersion) return std::nullopt;
  Statement ask(database_, "select at from mark where name = 'told'");
  if (ask.row()) {
    into = Wall(Span(ask.number(0)));
    return std::nullopt;
  }
  if (!ask.ended()) return trouble("cannot be read");
  return std::nullopt;
}

std::optional<HistoryFile::Trouble> HistoryFile::records(std::vector<HistoryRecord>& into) const {
  Statement ask(database_, "select id, json, schedule from batch order by id");
  while (ask.row()) into.push_back({ask.text(0), ask.text(1), ask.text(2)});
  if (!ask.ended()) return trouble("cannot be read");
  return std::nullopt;
}

std::optional<HistoryFile::Trouble> HistoryFile::record(const std::string& batch,
                                                        std::optional<HistoryRecord>& into) const {
  into.reset();
  Statement ask(database_, "select id, json, schedule from batch where id = ?");
  ask.bind(batch);
  if (ask.row()) {
    into = HistoryRecord{ask.text(0), ask.text(1), ask.text(2)};
    return std::nullopt;
  }
  if (!ask.ended()) return trouble("cannot be read");
  return std::nullopt;
}

}  // namespace clutchward
