// What the daemon's JSON says of a batch, in lines for a terminal, by the site's own clock.
#pragma once

#include <nlohmann/json.hpp>
#include <string>

#include "web/watch_view.h"

namespace clutchward {

class BatchWords {
 public:
  // `watch` must outlive this.
  explicit BatchWords(const WatchView& watch) : watch_(watch) {}

  // "2026-03-15 08:00 GMT"; "" where it is no time.
  std::string when(const std::string& rfc3339) const;

  // Where it stands and what comes next, overdue first.
  std::string list_line(const nlohmann::ordered_json& batch) const;
  // What was done with it, and its dates.
  std::string shown(const nlohmann::ordered_json& batch) const;
  // One or two lines: what is now true of it, the last deed among it.
  std::string now_true(const nlohmann::ordered_json& batch) const;

 private:
  std::string next(const nlohmann::ordered_json& batch) const;
  std::string deeds(const nlohmann::ordered_json& batch) const;
  std::string dates(const nlohmann::ordered_json& batch) const;

  const WatchView& watch_;
};

// "3 infertile, 1 dead early"
std::string fates_text(const nlohmann::ordered_json& fates);
std::string eggs_text(const nlohmann::ordered_json& batch);

// Keys that may not be there, or be of another type.
std::string text_in(const nlohmann::ordered_json& in, const char* key);
std::optional<double> number_in(const nlohmann::ordered_json& in, const char* key);
nlohmann::ordered_json items_in(const nlohmann::ordered_json& in, const char* key);
std::string decimals(double value, int places);

}  // namespace clutchward
