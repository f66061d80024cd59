// Packed minutes: what goes in comes out, the bytes are those of the published encodings, and bytes
// that are no pack are seen to be none.
#include "store/minute_pack.h"

#include <gtest/gtest.h>

#include <limits>
#include <random>

namespace clutchward {
namespace {

constexpr std::int64_t kFirst = 29539200;  // 2026-03-01T08:00Z

// DWARF 4, 7.6 (unsigned LEB128: 12857 is b9 64, 128 is 80 01) and the Protocol Buffers
// documentation (zigzag: 0, -1, 1, -2 become 0, 1, 2, 3), both from memory; sums by hand: 37.500
// doubled is 75000, f8 c9 04.
TEST(MinutePack, IsMadeOfPublishedEncodings) {
  EXPECT_EQ(pack({{kFirst, 37'460, 37'500, 37'540, 6}}),
            std::string("\x00\xf8\xc9\x04\x50\x50\x0c", 7));
  EXPECT_EQ(pack({{kFirst, -1, -1, 63, 64}, {kFirst + 1, -2, -2, -2, 1}}),
            std::string("\x00\x01\x00\x80\x01\x80\x01\x02\x01\x00\x00\x02", 12));
}

TEST(MinutePack, GivesBackWhatItTook) {
  std::mt19937 random(1);
  for (int round = 0; round < 200; ++round) {
    std::vector<PackedMinute> minutes;
    for (std::int64_t at = kFirst; at <= kFirst + kPackMinutes; at += 1 + random() % 9) {
      const auto mean = static_cast<Milli>(random() % 80'000) - 20'000;
      minutes.push_back({at, mean - static_cast<Milli>(random() % 3'000), mean,
                         mean + static_cast<Milli>(random() % 3'000),
                         1 + static_cast<std::int64_t>(random() % 20'000)});
    }
    EXPECT_EQ(unpack(kFirst, pack(minutes)), minutes);
  }
  const Milli least = std::numeric_limits<Milli>::min(), most = std::numeric_limits<Milli>::max();
  const std::vector<PackedMinute> ends = {{kFirst, least, 0, most, 1},
                                          {kFirst, least, most, most, 1}};
  EXPECT_EQ(unpack(kFirst, pack(ends)), ends);
}

TEST(MinutePack, ACalmMinuteTakesSixBytesAtMost) {
  std::vector<PackedMinute> minutes;
  for (std::int64_t i = 0; i < 10; ++i)
    minutes.push_back({kFirst + i, 37'440, static_cast<Milli>(37'500 + 9 * (i % 3)), 37'560, 6});
  EXPECT_LE(pack(minutes).size(), 62U);
}

TEST(MinutePack, WhatIsNoPackIsSeen) {
  const std::string good = pack({{kFirst, 37'460, 37'500, 37'540, 6}});
  for (std::size_t cut = 1; cut < good.size(); ++cut)
    EXPECT_FALSE(unpack(kFirst, good.substr(0, cut))) << cut;
  EXPECT_FALSE(unpack(kFirst, std::string(12, '\xff')));                 // a number without an end
  EXPECT_FALSE(unpack(kFirst, std::string("\x01\x00\x00\x00\x02", 5)));  // before its first minute
  EXPECT_FALSE(unpack(kFirst, std::string("\x00\x00\x01\x00\x02", 5)));  // lowest above the mean
  EXPECT_FALSE(unpack(kFirst, std::string("\x00\x00\x00\x00\x00", 5)));  // of no reading
  EXPECT_FALSE(
      unpack(kFirst, std::string("\x7c\x00\x00\x00\x02", 5)));  // an hour and two minutes on
  std::mt19937 random(2);
  for (int round = 0; round < 2'000; ++round) {
    std::string bytes;
    for (unsigned i = 0; i < random() % 40; ++i) bytes += static_cast<char>(random());
    unpack(kFirst, bytes);  // must end, whatever it says
  }
}

TEST(MinutePack, PartsOfOneMinuteAreAddedUp) {
  std::vector<PackedMinute> minutes = {{kFirst + 1, 10, 10, 10, 1},
                                       {kFirst, -37'000, -37'000, -36'900, 1},
                                       {kFirst + 1, 5, 13, 20, 3},
                                       {kFirst, -37'400, -37'301, -37'200, 3}};
  settle_minutes(minutes);
  // (-37000 - 3 x 37301) / 4 is -37225.75; (10 + 39) / 4 is 12.25.
  EXPECT_EQ(minutes, (std::vector<PackedMinute>{{kFirst, -37'400, -37'226, -36'900, 4},
                                                {kFirst + 1, 5, 12, 20, 4}}));
}

}  // namespace
}  // namespace clutchward
