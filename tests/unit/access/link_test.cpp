// Links: what is read is what was written by us, and nothing else.
#include "access/link.h"

#include <gtest/gtest.h>

#include "access/random.h"
#include "base/limits.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

const Wall kNow = parse_rfc3339("2026-03-01T03:14:00Z").value_or(Wall{});

Link link() {
  return {
      Deed::acknowledge, {"setter-a", "hens-12", "high"}, "high-17", "mara", kNow, kNow + kLinkLife,
      {"hatcher-1"}};
}

TEST(LinkKeys, ReadsWhatItWrote) {
  LinkKeys keys;
  const std::string token = keys.sign(link(), "Saltmere", kNow);
  EXPECT_LE(token.size(), 256U);
  const auto read = keys.read(token, "Saltmere", kNow + 1h);
  ASSERT_TRUE(read) << read.why();
  EXPECT_EQ(*read, link());
}

// Shared reference, section 3.2: every single bit flipped, all refused.
TEST(LinkKeys, RefusesEveryFlippedBit) {
  LinkKeys keys;
  const std::string token = keys.sign(link(), "Saltmere", kNow);
  for (std::size_t byte = 0; byte < token.size(); ++byte)
    for (int bit = 0; bit < 8; ++bit) {
      std::string bent = token;
      bent[byte] = static_cast<char>(bent[byte] ^ (1 << bit));
      EXPECT_FALSE(keys.read(bent, "Saltmere", kNow)) << byte << " " << bit;
    }
}

TEST(LinkKeys, RefusesOtherSitesOtherKeysAndRubbish) {
  LinkKeys keys;
  LinkKeys others;
  const std::string token = keys.sign(link(), "Saltmere", kNow);
  others.sign(link(), "Saltmere", kNow);
  const char* const kForged =
      "This link was not written by this Clutchward, or it was damaged on its way.";
  EXPECT_EQ(keys.read(token, "Elsewhere", kNow).why(), kForged);
  EXPECT_EQ(others.read(token, "Saltmere", kNow).why(), kForged);
  for (const std::string& bad :
       {std::string(), std::string("."), token.substr(0, token.find('.') + 1),
        token.substr(0, token.size() - 1), token + "A", token + ".",
        std::string(limits::kLinkBytes + 1, 'A'), to_base64url("1\n2\n3") + ".AAAA"})
    EXPECT_EQ(keys.read(bad, "Saltmere", kNow).why(), kForged) << bad;
}

TEST(LinkKeys, LetsALinkLiveForADayWhateverKeysDo) {
  LinkKeys keys;
  const std::string first = keys.sign(link(), "Saltmere", kNow);
  Link later = link();
  later.told_at = kNow + 23h;
  later.expires = later.told_at + kLinkLife;
  const std::string second = keys.sign(later, "Saltmere", kNow + 23h);
  keys.sign(link(), "Saltmere", kNow + 25h);  // a new key by now
  EXPECT_TRUE(keys.read(second, "Saltmere", kNow + 46h));
  EXPECT_EQ(keys.read(first, "Saltmere", kNow + 24h).why(),
            "This link is too old: it was good for a day.");
  keys.sign(link(), "Saltmere", kNow + 50h);
  keys.sign(link(), "Saltmere", kNow + 75h);
  EXPECT_FALSE(keys.read(second, "Saltmere", kNow + 46h));  // its key is gone
}

TEST(LinkKeys, ComeBackAfterARestart) {
  LinkKeys keys;
  const std::string token = keys.sign(link(), "Saltmere", kNow);
  const auto kept = keys.take_changed();
  ASSERT_TRUE(kept);
  EXPECT_FALSE(keys.take_changed());
  LinkKeys again;
  again.restore(*kept);
  EXPECT_TRUE(again.read(token, "Saltmere", kNow + 1h));
  again.sign(link(), "Saltmere", kNow + 2h);
  EXPECT_FALSE(again.take_changed());  // the same key goes on
}

}  // namespace
}  // namespace clutchward
