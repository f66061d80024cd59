// The history's database: one-minute aggregates, alarm events, who was told and batch records in
// one SQLite file.
// What one commit brings of a probe is one row (minute_pack.h), keyed by time first, so that a
// commit appends to a page or two and old rows go as a range; a write-ahead log, since a rollback
// journal writes half as much again and lets a long listing hold a commit up. Knows no meaning: ids
// and JSON go in and out as they are. Used by one thread at a time.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "base/result.h"
#include "base/text.h"
#include "base/time.h"

struct sqlite3;

namespace clutchward {

struct HistoryMinute {
  std::int64_t minute = 0;  // since 1970-01-01T00:00Z
  std::string cabinet;
  std::string probe;
  std::string quantity;
  Milli low = 0;
  Milli mean = 0;
  Milli high = 0;
  std::int64_t count = 0;
  bool operator==(const HistoryMinute&) const = default;
};

struct HistoryEvent {
  Wall at{};
  std::string cabinet;
  std::string batch;
  std::string json;
  bool operator==(const HistoryEvent&) const = default;
};

struct HistoryRecord {
  std::string batch;
  std::string json;             // whole; replaces what was there
  std::string schedule{};       // JSON, too, or ""
  bool schedule_stays = false;  // one that is there already is not replaced
  bool operator==(const HistoryRecord&) const = default;
};

// One message to one person over one channel. Without a contact it says only when the message of
// that time and number, which is there already, was delivered.
struct HistoryTold {
  Wall at{};  // when it was made
  std::uint64_t number = 0;
  std::string contact;
  std::string way;  // "email"
  std::string urgency;
  std::string sort;  // why: "raised", "reminder", "daily"
  std::string cabinet;
  std::string batch;
  std::string alarm;
  std::string episode;
  std::string first_line;
  std::string alarms;  // JSON: what it told loudly; "" where another of the same message has it
  std::optional<Wall> delivered_at;
  bool operator==(const HistoryTold&) const = default;
};

struct HistoryRows {
  std::vector<HistoryMinute> minutes;
  std::vector<HistoryEvent> events;
  std::vector<HistoryRecord> records;
  std::vector<HistoryTold> told = {};
  std::optional<Wall> told_from = {};  // whoever was told from then on is kept
  std::size_t size() const {
    return minutes.size() + events.size() + records.size() + told.size() + (told_from ? 1 : 0);
  }
};

// "" and none: no bound of that kind. `from` is inside, `to` is not.
struct HistoryQuestion {
  std::string cabinet;
  std::string probe;
  std::string quantity;
  std::string batch;  // events only
  std::optional<Wall> from;
  std::optional<Wall> to;
};

class HistoryFile {
 public:
  enum class For : std::uint8_t { writing, reading };
  struct Trouble {
    std::string why;
    bool damaged = false;  // the file is no such database, or is broken
  };

  HistoryFile() = default;
  ~HistoryFile();
  HistoryFile(const HistoryFile&) = delete;
  HistoryFile& operator=(const HistoryFile&) = delete;

  // Opens, and makes what is missing where it is for writing.
  std::optional<Trouble> open(const std::string& path, For what);
  bool is_open() const { return database_ != nullptr; }
  void close();

  // All of it in one transaction, or nothing. A minute that comes in parts is added up.
  std::optional<Trouble> write(const HistoryRows& rows);
  // Lets go of the pages that it remembers: the next commit is minutes away.
  void rest();
  // Forgets minutes, events and who was told before `before`, of minutes up to an hour less;
  // records stay.
  std::optional<Trouble> forget_before(Wall before);

  // In order of time; `take` answers false to end early.
  std::optional<Trouble> minutes(const HistoryQuestion& question,
                                 const std::function<bool(const HistoryMinute&)>& take) const;
  // The same, of every `every`th minute from `from` on. Packs of other cabinets in that time are
  // stepped over unread.
  std::optional<Trouble> minutes_of(const HistoryQuestion& question, std::int64_t every,
                                    const std::function<bool(const HistoryMinute&)>& take) const;
  std::optional<Trouble> events(const HistoryQuestion& question,
                                const std::function<bool(const HistoryEvent&)>& take) const;
  // By when they were made.
  std::optional<Trouble> told(const HistoryQuestion& question,
                              const std::function<bool(const HistoryTold&)>& take) const;
  // Since when it is kept who was told; none: it is not.
  std::optional<Trouble> told_from(std::optional<Wall>& into) const;
  // The last before `question.to`, the newest first, at most `most`. (history_back.cpp)
  std::optional<Trouble> events_back(const HistoryQuestion& question, std::size_t most,
                                     std::vector<HistoryEvent>& into) const;
  std::optional<Trouble> records(std::vector<HistoryRecord>& into) const;
  // One record; `into` stays empty where there is none of that batch.
  std::optional<Trouble> record(const std::string& batch, std::optional<HistoryRecord>& into) const;

 private:
  class Statement;
  bool fails() const;  // remembers why; false
  Trouble trouble(const std::string& doing) const;
  bool run(const char* sql) const;
  bool connect(const std::string& name, int flags);
  std::optional<int> version() const;
  // The tables of this version, made or made from those of the version before.
  bool make_tables(int version);
  bool take_over_rows();
  bool put_minutes(const std::vector<HistoryMinute>& minutes);
  bool put_events(const std::vector<HistoryEvent>& events);
  bool put_told(const HistoryRows& rows);
  bool put_records(const std::vector<HistoryRecord>& records);

  sqlite3* database_ = nullptr;
  std::string path_;
  int version_ = 0;  // of the file that is open
  mutable std::string failed_;
  mutable bool damaged_ = false;
};

}  // namespace clutchward
