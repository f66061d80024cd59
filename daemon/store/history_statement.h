// One prepared SQLite statement: bound, stepped, finalized. For the history's two sources only. A
// statement that could not be prepared fails at its first step; the database holds why.
#pragma once

#include <sqlite3.h>

#include <cstdint>
#include <string>
#include <string_view>

#include "store/history_file.h"

namespace clutchward {

// The key of a pack: its first minute, then its series. Far more series than all probes of as many
// cabinets as there may be; two past it would share a key.
inline constexpr int kSeriesBits = 22;
inline std::int64_t pack_key(std::int64_t minute, std::int64_t series) {
  return minute * (std::int64_t{1} << kSeriesBits) + series;
}

// The key of a message: when it was made, then the end of its number. Messages of one millisecond
// have numbers that follow one another.
inline constexpr int kNumberBits = 20;
inline std::int64_t told_key(std::int64_t ms, std::uint64_t number) {
  constexpr std::uint64_t kMask = (std::uint64_t{1} << kNumberBits) - 1;
  return ms * (std::int64_t{1} << kNumberBits) + static_cast<std::int64_t>(number & kMask);
}

struct Blob {
  std::string_view bytes;
};

class HistoryFile::Statement {
 public:
  Statement(sqlite3* database, const char* sql) {
    sqlite3_prepare_v2(database, sql, -1, &statement_, nullptr);
  }
  ~Statement() { sqlite3_finalize(statement_); }
  Statement(const Statement&) = delete;
  Statement& operator=(const Statement&) = delete;

  // Starts anew with these values, in the order of the marks. Text must outlive the steps.
  template <class... Values>
  void bind(const Values&... values) {
    sqlite3_reset(statement_);
    int place = 0;
    (put(++place, values), ...);
  }
  void put(int place, std::int64_t value) { sqlite3_bind_int64(statement_, place, value); }
  void put(int place, const std::string& value) {
    sqlite3_bind_text(statement_, place, value.data(), static_cast<int>(value.size()),
                      SQLITE_STATIC);
  }
  void put(int place, const Blob& value) {
    sqlite3_bind_blob(statement_, place, value.bytes.data(), static_cast<int>(value.bytes.size()),
                      SQLITE_STATIC);
  }
  bool row() {
    result_ = statement_ == nullptr ? SQLITE_ERROR : sqlite3_step(statement_);
    return result_ == SQLITE_ROW;
  }
  bool done() { return !row() && ended(); }
  bool ended() const { return result_ == SQLITE_DONE; }
  std::int64_t number(int column) const { return sqlite3_column_int64(statement_, column); }
  std::string text(int column) const {
    const auto* bytes = reinterpret_cast<const char*>(sqlite3_column_text(statement_, column));
    return bytes == nullptr ? std::string() : std::string(bytes);
  }
  // Good until the next step.
  std::string_view bytes(int column) const {
    const auto* bytes = static_cast<const char*>(sqlite3_column_blob(statement_, column));
    if (bytes == nullptr) return {};
    return {bytes, static_cast<std::size_t>(sqlite3_column_bytes(statement_, column))};
  }

 private:
  sqlite3_stmt* statement_ = nullptr;
  int result_ = SQLITE_OK;
};

}  // namespace clutchward
