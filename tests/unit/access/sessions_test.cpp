// Sessions: opened, found, ended, kept.
#include "access/sessions.h"

#include <gtest/gtest.h>

#include "base/limits.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

const Wall kNow = parse_rfc3339("2026-03-01T03:14:00Z").value_or(Wall{});

People people() {
  return {{"mara", {Role::manage, "hash-1", "pin-1"}}, {"joss", {Role::answer, "hash-2", ""}}};
}

TEST(Sessions, AreFoundByTheirCookieOnly) {
  Sessions sessions;
  const std::string cookie = sessions.open("mara", false, people(), kNow);
  EXPECT_EQ(cookie.size(), 43U);
  EXPECT_NE(sessions.open("mara", false, people(), kNow), cookie);
  EXPECT_EQ(sessions.find(cookie, people(), kNow)->person, "mara");
  EXPECT_FALSE(sessions.find(cookie + "A", people(), kNow));
  EXPECT_FALSE(sessions.find("", people(), kNow));
  sessions.close(cookie);
  EXPECT_FALSE(sessions.find(cookie, people(), kNow));
}

TEST(Sessions, EndWithTheirSecretTheirPersonAndDisuse) {
  Sessions sessions;
  const std::string cookie = sessions.open("mara", false, people(), kNow);
  const std::string phone = sessions.open("mara", true, people(), kNow);
  People other = people();
  other["mara"].passphrase = "hash-9";
  EXPECT_FALSE(sessions.find(cookie, other, kNow));
  EXPECT_TRUE(sessions.find(phone, other, kNow)->links_only);
  other["mara"].pin = "pin-9";
  EXPECT_FALSE(sessions.find(phone, other, kNow));
  const std::string joss = sessions.open("joss", false, people(), kNow);
  other.erase("joss");
  EXPECT_FALSE(sessions.find(joss, other, kNow));
  const std::string used = sessions.open("mara", false, people(), kNow);
  EXPECT_TRUE(sessions.find(used, people(), kNow + 80 * 24h));
  EXPECT_TRUE(sessions.find(used, people(), kNow + 160 * 24h));
  EXPECT_FALSE(sessions.find(used, people(), kNow + 251 * 24h));
}

TEST(Sessions, OfOnePersonAreSoManyAndNoMore) {
  Sessions sessions;
  const std::string first = sessions.open("mara", false, people(), kNow);
  const std::string joss = sessions.open("joss", false, people(), kNow);
  for (std::size_t i = 0; i < limits::kSessionsPerPerson; ++i)
    sessions.open("mara", false, people(), kNow + Span(i + 1));
  EXPECT_FALSE(sessions.find(first, people(), kNow));
  EXPECT_TRUE(sessions.find(joss, people(), kNow));
}

TEST(Sessions, ComeBackAfterARestart) {
  Sessions sessions;
  const std::string cookie = sessions.open("mara", true, people(), kNow);
  const auto kept = sessions.take_changed();
  ASSERT_TRUE(kept);
  for (const auto& [key, tree] : kept->members) EXPECT_NE(key, cookie);
  Sessions again;
  again.restore(*kept);
  EXPECT_EQ(again.find(cookie, people(), kNow), sessions.find(cookie, people(), kNow));
  EXPECT_FALSE(again.take_changed());
}

TEST(Sessions, GiveEachAFormTokenOfItsOwn) {
  EXPECT_NE(form_token("a"), form_token("b"));
  EXPECT_EQ(form_token("a"), form_token("a"));
}

}  // namespace
}  // namespace clutchward
