// Signatures against the worked example that the Standard Webhooks specification's own libraries
// carry in their tests (from memory; the specification's JavaScript library gives the same value,
// and the functional tests let it check ours).
#include "channel/signature.h"

#include <gtest/gtest.h>

namespace clutchward {
namespace {

constexpr const char* kSecret = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw";
constexpr const char* kId = "msg_p5jXN8AQM9LWM0D4loKWxJek";
constexpr const char* kBody = R"({"test": 2432232314})";

TEST(Signature, IsTheKnownExample) {
  const auto key = signing_key(kSecret);
  ASSERT_TRUE(key) << key.why();
  EXPECT_EQ(key->size(), 24U);
  EXPECT_EQ(signature_header({*key}, kId, 1614265330, kBody),
            "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=");
}

TEST(Signature, SignsOnceForEachKey) {
  const auto key = signing_key(kSecret);
  const auto other = signing_key("whsec_AAECAwQFBgcICQoLDA0ODxAREhMUFRYX");
  ASSERT_TRUE(key && other);
  const std::string both = signature_header({*other, *key}, kId, 1614265330, kBody);
  const auto blank = both.find(' ');
  ASSERT_NE(blank, std::string::npos);
  EXPECT_EQ(both.substr(0, blank), signature_header({*other}, kId, 1614265330, kBody));
  EXPECT_EQ(both.substr(blank + 1), signature_header({*key}, kId, 1614265330, kBody));
}

TEST(Signature, TakesTheSecretWithAndWithoutItsPrefixAndPadding) {
  EXPECT_EQ(*signing_key("whsec_AAEC"), std::string("\0\1\2", 3));
  EXPECT_EQ(*signing_key("AAEC"), std::string("\0\1\2", 3));
  EXPECT_EQ(*signing_key("AAE="), std::string("\0\1", 2));
  EXPECT_EQ(*signing_key("AAE"), std::string("\0\1", 2));
  EXPECT_EQ(*signing_key("AA=="), std::string("\0", 1));
}

TEST(Signature, RefusesWhatIsNotASecretWithoutRepeatingIt) {
  for (const char* wrong : {"", "whsec_", "A", "AAEC=", "AAE==", "A===", "AA EC", "not-a-secret!",
                            "whsec_AAEC\n", "AA=C"}) {
    const auto key = signing_key(wrong);
    EXPECT_FALSE(key) << wrong;
    EXPECT_EQ(key.why(), "is not a signing secret: expected whsec_ and base64");
  }
}

}  // namespace
}  // namespace clutchward
