// SQL for the history. Every statement stands here and in history_read.cpp.
#include "store/history_file.h"

#include <sqlite3.h>

#include "store/history_statement.h"

namespace clutchward {
namespace {

// A reader in the middle of a long listing holds a commit up no longer than this (our own choice).
constexpr int kBusyMs = 5000;
constexpr int kVersion = 1;

constexpr const char* kSchema = R"(
create table if not exists series (
  id integer primary key, cabinet text not null, probe text not null, quantity text not null,
  unique (cabinet, probe, quantity));
create table if not exists minute (
  minute integer not null, series integer not null,
  low integer not null, mean integer not null, high integer not null, count integer not null,
  primary key (minute, series)) without rowid;
create table if not exists event (
  id integer primary key, at integer not null, cabinet text not null, batch text not null,
  json text not null);
create index if not exists event_at on event (at);
create table if not exists batch (id text primary key, json text not null) without rowid;
pragma user_version = 1;
)";

}  // namespace

HistoryFile::~HistoryFile() { close(); }

void HistoryFile::close() {
  if (database_ != nullptr) sqlite3_close_v2(database_);
  database_ = nullptr;
}

HistoryFile::Trouble HistoryFile::trouble(const std::string& doing) const {
  const int code = sqlite3_errcode(database_) & 0xff;
  return {path_ + ": " + doing + ": " + sqlite3_errmsg(database_),
          code == SQLITE_CORRUPT || code == SQLITE_NOTADB};
}

bool HistoryFile::run(const char* sql) const {
  return sqlite3_exec(database_, sql, nullptr, nullptr, nullptr) == SQLITE_OK;
}

std::optional<HistoryFile::Trouble> HistoryFile::open(const std::string& path, For what) {
  close();
  path_ = path;
  const int flags =
      what == For::writing ? SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE : SQLITE_OPEN_READONLY;
  const auto fail = [&](Trouble why) {
    close();
    return std::optional(std::move(why));
  };
  if (sqlite3_open_v2(path.c_str(), &database_, flags, nullptr) != SQLITE_OK)
    return fail(trouble("cannot be opened"));
  sqlite3_extended_result_codes(database_, 1);
  sqlite3_busy_timeout(database_, kBusyMs);
  int version = 0;
  {
    Statement ask(database_, "pragma user_version");
    if (!ask.row()) return fail(trouble("cannot be read"));
    version = static_cast<int>(ask.number(0));
  }
  if (version > kVersion)
    return fail({path_ + ": version " + std::to_string(version) + " found, " +
                     std::to_string(kVersion) + " at most expected: a newer program wrote it",
                 false});
  if (what == For::reading) {
    if (version == kVersion) return std::nullopt;
    return fail({path_ + ": no history found, expected a file that clutchwardd or "
                         "`clutchward replay --history` wrote",
                 false});
  }
  if (!run("pragma journal_mode = persist; pragma synchronous = full; pragma cache_size = -256;") ||
      (version == 0 && !(run("begin") && run(kSchema) && run("commit"))))
    return fail(trouble("cannot be written"));
  return std::nullopt;
}

bool HistoryFile::put_minutes(const std::vector<HistoryMinute>& minutes) {
  Statement find(database_, "select id from series where cabinet=? and probe=? and quantity=?");
  Statement make(database_, "insert into series (cabinet, probe, quantity) values (?, ?, ?)");
  Statement put(database_, R"(
insert into minute values (?, ?, ?, ?, ?, ?) on conflict do update set
  low = min(low, excluded.low), high = max(high, excluded.high),
  mean = cast(round((mean * 1.0 * count + excluded.mean * 1.0 * excluded.count) /
                    (count + excluded.count)) as integer),
  count = count + excluded.count)");
  for (const HistoryMinute& each : minutes) {
    std::int64_t series = 0;
    find.bind(each.cabinet, each.probe, each.quantity);
    if (find.row()) {
      series = find.number(0);
    } else {
      make.bind(each.cabinet, each.probe, each.quantity);
      if (!make.done()) return false;
      series = sqlite3_last_insert_rowid(database_);
    }
    put.bind(each.minute, series, std::int64_t{each.low}, std::int64_t{each.mean},
             std::int64_t{each.high}, each.count);
    if (!put.done()) return false;
  }
  return true;
}

bool HistoryFile::put_events(const std::vector<HistoryEvent>& events) {
  Statement put(database_, "insert into event (at, cabinet, batch, json) values (?, ?, ?, ?)");
  for (const HistoryEvent& each : events) {
    put.bind(std::int64_t{each.at.time_since_epoch().count()}, each.cabinet, each.batch, each.json);
    if (!put.done()) return false;
  }
  return true;
}

bool HistoryFile::put_records(const std::vector<HistoryRecord>& records) {
  Statement put(database_, "insert or replace into batch (id, json) values (?, ?)");
  for (const HistoryRecord& each : records) {
    put.bind(each.batch, each.json);
    if (!put.done()) return false;
  }
  return true;
}

std::optional<HistoryFile::Trouble> HistoryFile::write(const HistoryRows& rows) {
  if (rows.size() == 0) return std::nullopt;
  if (run("begin immediate") && put_minutes(rows.minutes) && put_events(rows.events) &&
      put_records(rows.records) && run("commit"))
    return std::nullopt;
  Trouble why = trouble("cannot be written");
  run("rollback");
  return why;
}

std::optional<HistoryFile::Trouble> HistoryFile::forget_before(Wall before) {
  const std::int64_t ms = before.time_since_epoch().count();
  bool good = run("begin immediate");
  if (good) {
    Statement minutes(database_, "delete from minute where minute < ?");
    minutes.bind(ms / 60'000);
    Statement events(database_, "delete from event where at < ?");
    events.bind(ms);
    good = minutes.done() && events.done();
  }
  if (good && run("commit")) return std::nullopt;
  Trouble why = trouble("old minutes cannot be forgotten");
  run("rollback");
  return why;
}

}  // namespace clutchward
