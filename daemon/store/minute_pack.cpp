// Each minute is five numbers: minutes since the first, mean against the mean before, how far the
// lowest lies below it and the highest above, how many readings; seven bits a byte, the lowest
// first (LEB128, signed ones in zigzag), so that a calm minute takes five or six bytes.
#include "store/minute_pack.h"

#include <algorithm>
#include <limits>

namespace clutchward {
namespace {

void put(std::string& to, std::int64_t value) {
  const std::uint64_t folded =
      (static_cast<std::uint64_t>(value) << 1) ^ static_cast<std::uint64_t>(value >> 63);
  for (std::uint64_t rest = folded;; rest >>= 7) {
    const bool last = rest < 128;
    to += static_cast<char>((rest & 127) | (last ? 0 : 128));
    if (last) return;
  }
}

class Bytes {
 public:
  explicit Bytes(std::string_view bytes) : bytes_(bytes) {}
  bool more() const { return at_ < bytes_.size(); }
  std::optional<std::int64_t> next() {
    std::uint64_t folded = 0;
    for (int shift = 0; shift < 63 && more(); shift += 7) {
      const auto byte = static_cast<unsigned char>(bytes_[at_++]);
      folded |= static_cast<std::uint64_t>(byte & 127) << shift;
      if (byte < 128)
        return static_cast<std::int64_t>(folded >> 1) ^ -static_cast<std::int64_t>(folded & 1);
    }
    return std::nullopt;
  }

 private:
  std::string_view bytes_;
  std::size_t at_ = 0;
};

std::optional<Milli> milli(std::int64_t value) {
  if (value < std::numeric_limits<Milli>::min() || value > std::numeric_limits<Milli>::max())
    return std::nullopt;
  return static_cast<Milli>(value);
}

}  // namespace

PackedMinute added_up(const PackedMinute& a, const PackedMinute& b) {
  PackedMinute sum{a.minute, std::min(a.low, b.low), 0, std::max(a.high, b.high),
                   a.count + b.count};
  const std::int64_t total = a.mean * a.count + b.mean * b.count;
  const std::int64_t half = sum.count / 2;
  sum.mean = static_cast<Milli>((total >= 0 ? total + half : total - half) /
                                std::max<std::int64_t>(1, sum.count));
  return sum;
}

void settle_minutes(std::vector<PackedMinute>& minutes) {
  std::stable_sort(
      minutes.begin(), minutes.end(),
      [](const PackedMinute& a, const PackedMinute& b) { return a.minute < b.minute; });
  std::size_t kept = 0;
  for (std::size_t i = 0; i < minutes.size(); ++i) {
    if (kept > 0 && minutes[kept - 1].minute == minutes[i].minute)
      minutes[kept - 1] = added_up(minutes[kept - 1], minutes[i]);
    else
      minutes[kept++] = minutes[i];
  }
  minutes.resize(kept);
}

std::string pack(const std::vector<PackedMinute>& minutes) {
  std::string bytes;
  std::int64_t before = 0;
  for (const PackedMinute& each : minutes) {
    put(bytes, each.minute - minutes.front().minute);
    put(bytes, each.mean - before);
    put(bytes, std::int64_t{each.mean} - each.low);
    put(bytes, std::int64_t{each.high} - each.mean);
    put(bytes, each.count);
    before = each.mean;
  }
  return bytes;
}

std::optional<std::vector<PackedMinute>> unpack(std::int64_t first, std::string_view bytes) {
  std::vector<PackedMinute> minutes;
  Bytes in(bytes);
  std::int64_t before = 0;
  while (in.more()) {
    const auto after = in.next(), step = in.next(), below = in.next(), above = in.next(),
               count = in.next();
    if (!after || !step || !below || !above || !count || *after < 0 || *after > kPackMinutes ||
        *below < 0 || *above < 0 || *count < 1)
      return std::nullopt;
    // Each is below 2^62, so that no sum of two overflows.
    const auto mean = milli(before + *step);
    const auto low = mean ? milli(*mean - *below) : std::nullopt;
    const auto high = mean ? milli(*mean + *above) : std::nullopt;
    if (!low || !high) return std::nullopt;
    minutes.push_back({first + *after, *low, *mean, *high, *count});
    before = *mean;
  }
  return minutes;
}

}  // namespace clutchward
