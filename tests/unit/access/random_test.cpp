// The primitives against the vectors of their standards.
#include "access/random.h"

#include <gtest/gtest.h>

namespace clutchward {
namespace {

// RFC 4648, section 10 (without the padding), and its section 5 for the two letters of its own.
TEST(Base64url, AgreesWithTheStandard) {
  const std::pair<const char*, const char*> kVectors[] = {
      {"", ""},           {"f", "Zg"},          {"fo", "Zm8"},          {"foo", "Zm9v"},
      {"foob", "Zm9vYg"}, {"fooba", "Zm9vYmE"}, {"foobar", "Zm9vYmFy"}, {"\xfb\xff", "-_8"}};
  for (const auto& [plain, coded] : kVectors) {
    EXPECT_EQ(to_base64url(plain), coded);
    std::string back = "before";
    EXPECT_TRUE(from_base64url(coded, back));
    EXPECT_EQ(back, plain);
  }
  std::string unused;
  for (const char* bad : {"Zg==", "Zh", "Z", "Zm9v Yg", "Zm+v", "Zm9vYmF/"})
    EXPECT_FALSE(from_base64url(bad, unused)) << bad;
}

// RFC 4231, section 4.3 (test case 2).
TEST(Hmac, AgreesWithTheStandard) {
  std::string hex;
  for (const char c : hmac_sha256("Jefe", "what do ya want for nothing?")) {
    static const char* const kHex = "0123456789abcdef";
    hex += kHex[static_cast<unsigned char>(c) >> 4];
    hex += kHex[static_cast<unsigned char>(c) & 15];
  }
  EXPECT_EQ(hex, "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843");
}

TEST(Random, IsNeverTheSame) {
  EXPECT_EQ(random_bytes(32).size(), 32U);
  EXPECT_NE(random_bytes(32), random_bytes(32));
  EXPECT_TRUE(same_secret("abc", "abc"));
  EXPECT_FALSE(same_secret("abc", "abd"));
  EXPECT_FALSE(same_secret("abc", "ab"));
}

}  // namespace
}  // namespace clutchward
