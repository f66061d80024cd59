// Hashes against the reference library's own published example, and the limits on what is taken.
#include "access/passphrase.h"

#include <gtest/gtest.h>

namespace clutchward {
namespace {

TEST(Passphrase, FitsItsOwnHashAndNoOther) {
  const auto hash = hash_passphrase("four words of goose down");
  ASSERT_TRUE(hash);
  EXPECT_TRUE(hash->starts_with("$argon2id$v=19$m=19456,t=2,p=1$")) << *hash;
  EXPECT_TRUE(is_passphrase_hash(*hash));
  EXPECT_TRUE(passphrase_fits(*hash, "four words of goose down"));
  EXPECT_FALSE(passphrase_fits(*hash, "four words of goose Down"));
  EXPECT_FALSE(passphrase_fits(*hash, ""));
  EXPECT_NE(*hash_passphrase("four words of goose down"), *hash);
}

// The library's test suite, argon2id version 0x13, t 2, m 64 MiB, p 1 (phc-winner-argon2,
// src/test.c; value from memory).
TEST(Passphrase, AgreesWithThePublishedVector) {
  const std::string hash =
      "$argon2id$v=19$m=65536,t=2,p=1$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc";
  EXPECT_TRUE(passphrase_fits(hash, "password"));
  EXPECT_FALSE(passphrase_fits(hash, "passwort"));
}

TEST(Passphrase, TakesHashesOfOneKindAndOfABearableCost) {
  const std::string tail = "$c29tZXNhbHQ$CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc";
  EXPECT_TRUE(is_passphrase_hash("$argon2id$v=19$m=19456,t=2,p=1" + tail));
  for (const char* head :
       {"", "$argon2i$v=19$m=19456,t=2,p=1", "$argon2id$v=16$m=19456,t=2,p=1",
        "$argon2id$v=19$m=4194304,t=2,p=1", "$argon2id$v=19$m=19456,t=4000,p=1",
        "$argon2id$v=19$m=19456,t=2,p=64", "$argon2id$v=19$m=-1,t=2,p=1",
        "$argon2id$v=19$m=19456,t=2", "$argon2id$v=19$m=99999999999999999999,t=2,p=1"})
    EXPECT_FALSE(is_passphrase_hash(head + tail)) << head;
  EXPECT_FALSE(is_passphrase_hash("$argon2id$v=19$m=19456,t=2,p=1$c29tZXNhbHQ"));
  EXPECT_FALSE(is_passphrase_hash("$argon2id$v=19$m=19456,t=2,p=1$c29t ZXNh$" + tail));
}

TEST(Passphrase, SaysWhatIsWrongWithOne) {
  EXPECT_EQ(passphrase_fault("goose"),
            "the passphrase has 5 characters; expected at least 10, for instance four words");
  EXPECT_EQ(passphrase_fault("four words of goose down"), "");
  EXPECT_EQ(pin_fault("48213"), "a PIN is six digits");
  EXPECT_EQ(pin_fault("48213a"), "a PIN is six digits");
  for (const char* weak : {"000000", "123456", "654321", "890123"})
    EXPECT_NE(pin_fault(weak), "") << weak;
  EXPECT_EQ(pin_fault("482139"), "");
}

}  // namespace
}  // namespace clutchward
