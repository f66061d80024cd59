// SQL for the history. Every statement stands here and in history_read.cpp.
#include "store/history_file.h"

#include <sqlite3.h>
#include <unistd.h>

#include <array>
#include <map>
#include <utility>

#include "store/history_statement.h"
#include "store/minute_pack.h"

namespace clutchward {
namespace {

// A reader in the middle of a long listing holds a commit up no longer than this (our own choice).
constexpr int kBusyMs = 5000;
constexpr int kVersion = 3;  // 1 had a row a minute, 2 did not keep who was told
constexpr int kReadable = 2;

constexpr const char* kSchema = R"(
create table if not exists series (
  id integer primary key, cabinet text not null, probe text not null, quantity text not null,
  unique (cabinet, probe, quantity));
create table if not exists pack (id integer primary key, minutes blob not null);
create table if not exists event (
  id integer primary key, at integer not null, cabinet text not null, batch text not null,
  json text not null);
create index if not exists event_at on event (at);
create table if not exists batch (
  id text primary key, json text not null, schedule text not null) without rowid;
create table if not exists told (
  id integer primary key, contact text not null, way text not null, urgency text not null,
  sort text not null, cabinet text not null, batch text not null, alarm text not null,
  episode text not null, first_line text not null, alarms text not null,
  delivered integer not null);
create table if not exists mark (name text primary key, at integer not null) without rowid;
pragma user_version = 3;
)";

// Rows of the first version that are taken over at once.
constexpr std::size_t kTakenOver = 50'000;

}  // namespace

HistoryFile::~HistoryFile() { close(); }

void HistoryFile::close() {
  if (database_ != nullptr) sqlite3_close_v2(database_);
  database_ = nullptr;
}

// What the database says of the last call; finalizing another statement makes it forget.
bool HistoryFile::fails() const {
  if (failed_.empty()) {
    failed_ = sqlite3_errmsg(database_);
    const int code = sqlite3_errcode(database_) & 0xff;
    damaged_ = code == SQLITE_CORRUPT || code == SQLITE_NOTADB;
  }
  return false;
}

HistoryFile::Trouble HistoryFile::trouble(const std::string& doing) const {
  fails();
  return {path_ + ": " + doing + ": " + std::exchange(failed_, {}), damaged_};
}

bool HistoryFile::run(const char* sql) const {
  return sqlite3_exec(database_, sql, nullptr, nullptr, nullptr) == SQLITE_OK;
}

bool HistoryFile::connect(const std::string& name, int flags) {
  close();
  if (sqlite3_open_v2(name.c_str(), &database_, flags, nullptr) != SQLITE_OK) return false;
  sqlite3_extended_result_codes(database_, 1);
  sqlite3_busy_timeout(database_, kBusyMs);
  return true;
}

std::optional<int> HistoryFile::version() const {
  Statement ask(database_, "pragma user_version");
  if (!ask.row()) return std::nullopt;
  return static_cast<int>(ask.number(0));
}

std::optional<HistoryFile::Trouble> HistoryFile::open(const std::string& path, For what) {
  path_ = path;
  const auto fail = [&](Trouble why) {
    close();
    return std::optional(std::move(why));
  };
  const bool writing = what == For::writing;
  if (!connect(path, writing ? SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE : SQLITE_OPEN_READONLY))
    return fail(trouble("cannot be opened"));
  auto found = version();
  // Who may not write into the folder cannot take part in the log; where nobody keeps one, the file
  // stands still and can be read as it is.
  if (!found && !writing && sqlite3_errcode(database_) != SQLITE_NOTADB &&
      ::access((path + "-wal").c_str(), F_OK) != 0) {
    std::string name = "file:";
    for (const char c : path)
      name += c == '?' ? "%3f" : c == '#' ? "%23" : c == '%' ? "%25" : std::string(1, c);
    if (!connect(name + "?immutable=1", SQLITE_OPEN_READONLY | SQLITE_OPEN_URI))
      return fail(trouble("cannot be opened"));
    found = version();
  }
  if (!found) return fail(trouble("cannot be read"));
  if (*found > kVersion)
    return fail({path_ + ": version " + std::to_string(*found) + " found, " +
                     std::to_string(kVersion) + " at most expected: a newer program wrote it",
                 false});
  version_ = *found;
  if (!writing) {
    if (*found >= kReadable) return std::nullopt;
    return fail({*found == 0 ? path_ + ": no history found, expected a file that clutchwardd or "
                                       "`clutchward replay --history` wrote"
                             : path_ + ": version " + std::to_string(*found) + " found, " +
                                   std::to_string(kVersion) +
                                   " expected: the daemon makes that of it at its next start",
                 false});
  }
  if (!run("pragma journal_mode = wal; pragma synchronous = full; pragma cache_size = -256;") ||
      (*found < kVersion && !make_tables(*found)))
    return fail(trouble("cannot be written"));
  version_ = kVersion;
  return std::nullopt;
}

bool HistoryFile::make_tables(int version) {
  if (run("begin immediate") && run(kSchema) && (version != 1 || take_over_rows()) && run("commit"))
    return true;
  fails();
  run("rollback");
  return false;
}

bool HistoryFile::take_over_rows() {
  Statement ask(database_, R"(
select m.minute, s.cabinet, s.probe, s.quantity, m.low, m.mean, m.high, m.count
from minute m join series s on s.id = m.series order by m.minute)");
  std::vector<HistoryMinute> rows;
  while (ask.row()) {
    rows.push_back({ask.number(0), ask.text(1), ask.text(2), ask.text(3),
                    static_cast<Milli>(ask.number(4)), static_cast<Milli>(ask.number(5)),
                    static_cast<Milli>(ask.number(6)), ask.number(7)});
    if (rows.size() < kTakenOver) continue;
    if (!put_minutes(rows)) return false;
    rows.clear();
  }
  return ask.ended() && put_minutes(rows) &&
         run("drop table minute; alter table batch add column schedule text not null default ''; "
             "update batch set schedule = coalesce(json_extract(json, '$.schedule'), '')");
}

namespace {

using SeriesName = std::array<std::string, 3>;  // cabinet, probe, quantity

// By when they were, each piece no longer than a pack may be.
std::vector<std::vector<PackedMinute>> pieces_of(std::vector<PackedMinute> minutes) {
  settle_minutes(minutes);
  std::vector<std::vector<PackedMinute>> pieces;
  for (const PackedMinute& each : minutes) {
    if (pieces.empty() || each.minute - pieces.back().front().minute > kPackMinutes)
      pieces.emplace_back();
    pieces.back().push_back(each);
  }
  return pieces;
}

}  // namespace

bool HistoryFile::put_minutes(const std::vector<HistoryMinute>& minutes) {
  std::map<SeriesName, std::vector<PackedMinute>> by_series;
  for (const HistoryMinute& each : minutes)
    by_series[{each.cabinet, each.probe, each.quantity}].push_back(
        {each.minute, each.low, each.mean, each.high, each.count});
  Statement find(database_, "select id from series where cabinet=? and probe=? and quantity=?");
  Statement make(database_, "insert into series (cabinet, probe, quantity) values (?, ?, ?)");
  Statement there(database_, "select minutes from pack where id = ?");
  Statement put(database_, "insert or replace into pack (id, minutes) values (?, ?)");
  std::map<std::int64_t, std::string> packs;  // in the order of their keys: pages fill up in turn
  for (auto& [name, all] : by_series) {
    std::int64_t series = 0;
    find.bind(name[0], name[1], name[2]);
    if (find.row()) {
      series = find.number(0);
    } else if (!find.ended()) {
      return fails();
    } else {
      make.bind(name[0], name[1], name[2]);
      if (!make.done()) return fails();
      series = sqlite3_last_insert_rowid(database_);
    }
    for (std::vector<PackedMinute>& piece : pieces_of(std::move(all))) {
      const std::int64_t id = pack_key(piece.front().minute, series);
      there.bind(id);
      if (there.row()) {
        if (const auto before = unpack(piece.front().minute, there.bytes(0))) {
          piece.insert(piece.begin(), before->begin(), before->end());
          settle_minutes(piece);
        }
      } else if (!there.ended()) {
        return fails();  // an hour that cannot be read is not written over
      }
      packs[id] = pack(piece);
    }
  }
  for (const auto& [id, bytes] : packs) {
    put.bind(id, Blob{bytes});
    if (!put.done()) return fails();
  }
  return true;
}

bool HistoryFile::put_events(const std::vector<HistoryEvent>& events) {
  Statement put(database_, "insert into event (at, cabinet, batch, json) values (?, ?, ?, ?)");
  for (const HistoryEvent& each : events) {
    put.bind(std::int64_t{each.at.time_since_epoch().count()}, each.cabinet, each.batch, each.json);
    if (!put.done()) return fails();
  }
  return true;
}

// A message that goes out again after a restart is no second one.
bool HistoryFile::put_told(const HistoryRows& rows) {
  if (!rows.told_from && rows.told.empty()) return true;
  const auto ms = [](Wall at) { return std::int64_t{at.time_since_epoch().count()}; };
  Statement mark(database_, "insert or ignore into mark (name, at) values ('told', ?)");
  mark.bind(ms(rows.told_from.value_or(rows.told.empty() ? Wall{} : rows.told.front().at)));
  if (!mark.done()) return fails();
  Statement put(database_, R"(
insert into told (id, contact, way, urgency, sort, cabinet, batch, alarm, episode, first_line, alarms,
  delivered) values (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
on conflict do update set delivered = max(delivered, excluded.delivered))");
  Statement deliver(database_, "update told set delivered = ?2 where id = ?1");
  for (const HistoryTold& each : rows.told) {
    const std::int64_t id = told_key(ms(each.at), each.number);
    const std::int64_t delivered = each.delivered_at ? ms(*each.delivered_at) : 0;
    Statement& one = each.contact.empty() ? deliver : put;
    if (each.contact.empty())
      deliver.bind(id, delivered);
    else
      put.bind(id, each.contact, each.way, each.urgency, each.sort, each.cabinet, each.batch,
               each.alarm, each.episode, each.first_line, each.alarms, delivered);
    if (!one.done()) return fails();
  }
  return true;
}

bool HistoryFile::put_records(const std::vector<HistoryRecord>& records) {
  Statement put(database_, R"(
insert into batch (id, json, schedule) values (?1, ?2, ?3) on conflict do update set
  json = excluded.json,
  schedule = case when ?4 and schedule <> '' then schedule else excluded.schedule end)");
  for (const HistoryRecord& each : records) {
    put.bind(each.batch, each.json, each.schedule, std::int64_t{each.schedule_stays});
    if (!put.done()) return fails();
  }
  return true;
}

void HistoryFile::rest() {
  if (database_ != nullptr) sqlite3_db_release_memory(database_);
}

std::optional<HistoryFile::Trouble> HistoryFile::write(const HistoryRows& rows) {
  if (rows.size() == 0) return std::nullopt;
  if (run("begin immediate") && put_minutes(rows.minutes) && put_events(rows.events) &&
      put_records(rows.records) && put_told(rows) && run("commit"))
    return std::nullopt;
  Trouble why = trouble("cannot be written");
  run("rollback");
  return why;
}

std::optional<HistoryFile::Trouble> HistoryFile::forget_before(Wall before) {
  const std::int64_t ms = before.time_since_epoch().count();
  bool good = run("begin immediate");
  if (good) {
    Statement minutes(database_, "delete from pack where id < ?");
    minutes.bind(pack_key(ms / 60'000 - kPackMinutes, 0));
    Statement events(database_, "delete from event where at < ?");
    events.bind(ms);
    Statement told(database_, "delete from told where id < ?");
    told.bind(told_key(ms, 0));
    good = (minutes.done() && events.done() && told.done()) || fails();
  }
  if (good && run("commit")) return std::nullopt;
  Trouble why = trouble("old minutes cannot be forgotten");
  run("rollback");
  return why;
}

}  // namespace clutchward
