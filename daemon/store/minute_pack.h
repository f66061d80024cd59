// The minutes of one probe and quantity packed into bytes: one row of the history holds what a
// commit brought of them. A row a minute costs four times the bytes in the file and on the card
// (tests/bench/history_bytes.cpp). Knows no database.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/text.h"

namespace clutchward {

struct PackedMinute {
  std::int64_t minute = 0;  // since 1970-01-01T00:00Z
  Milli low = 0;
  Milli mean = 0;
  Milli high = 0;
  std::int64_t count = 0;  // readings
  bool operator==(const PackedMinute&) const = default;
};

// A pack spans no more minutes than this: a question finds every pack that may reach into it.
inline constexpr std::int64_t kPackMinutes = 60;

// In order of time, each minute once: what came in parts is added up.
void settle_minutes(std::vector<PackedMinute>& minutes);
// Two parts of one minute.
PackedMinute added_up(const PackedMinute& a, const PackedMinute& b);
// Settled minutes that span kPackMinutes at most; the first one's stands beside the bytes.
std::string pack(const std::vector<PackedMinute>& minutes);
// None where the bytes are no such pack.
std::optional<std::vector<PackedMinute>> unpack(std::int64_t first, std::string_view bytes);

}  // namespace clutchward
