// Decoders against exact arithmetic: what was written, in whole numbers, is the witness.
#include "reading/decode.h"

#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "base/limits.h"
#include "reading/pointer.h"

namespace clutchward {
namespace {

// Rounds n/d half away from zero.
std::int64_t half_away(__int128 n, __int128 d) {
  const __int128 size = n < 0 ? -n : n;
  const auto rounded = static_cast<std::int64_t>((2 * size + d) / (2 * d));
  return n < 0 ? -rounded : rounded;
}

std::string decimal(std::int64_t digits, int places) {
  std::string text = std::to_string(digits < 0 ? -digits : digits);
  if (static_cast<int>(text.size()) <= places)
    text.insert(0, static_cast<std::size_t>(places) + 1 - text.size(), '0');
  if (places > 0) text.insert(text.size() - static_cast<std::size_t>(places), ".");
  return (digits < 0 ? "-" : "") + text;
}

Decoded judged(std::int64_t milli, Quantity quantity) {
  const PlausibleRange range = plausible_range(quantity);
  if (milli < range.low || milli > range.high) return Rejection::implausible;
  return static_cast<Milli>(milli);
}

class Numbers : public ::testing::Test {
 protected:
  Decoded json(const std::string& number, Unit unit) {
    const std::vector<FieldPattern> fields = {{"/t", "", Quantity::temperature, unit}};
    return decoder_.decode("{\"t\":" + number + "}", fields)[0].value;
  }
  JsonDecoder decoder_;
};

TEST_F(Numbers, AreRoundedAsTheyWereWritten) {
  std::mt19937_64 random(1605);
  for (int i = 0; i < 60'000; ++i) {
    const int places = static_cast<int>(random() % 9);
    std::int64_t scale = 1;
    for (int p = 0; p < places; ++p) scale *= 10;
    std::int64_t digits = static_cast<std::int64_t>(random() % (140 * scale)) - 35 * scale;
    // Every other one sits on a half or right beside it.
    if (places > 3 && i % 2 == 0) {
      const std::int64_t step = scale / 1000;
      digits = digits / step * step + (digits < 0 ? -1 : 1) * (step / 2) +
               static_cast<std::int64_t>(random() % 3) - 1;
    }
    const std::string text = decimal(digits, places);
    const Decoded celsius =
        judged(half_away(static_cast<__int128>(digits) * 1000, scale), Quantity::temperature);
    const Decoded fahrenheit =
        judged(half_away(static_cast<__int128>(digits - 32 * scale) * 5000, scale * 9),
               Quantity::temperature);
    ASSERT_EQ(decode_plain(text, Quantity::temperature, Unit::own), celsius) << text;
    ASSERT_EQ(decode_plain(text, Quantity::temperature, Unit::fahrenheit), fahrenheit) << text;
    ASSERT_EQ(json(text, Unit::own), celsius) << text;
    ASSERT_EQ(json(text, Unit::fahrenheit), fahrenheit) << text;
  }
}

// 0.000…digits with an exponent that moves the point back.
TEST(Exponents, MoveThePointAndNothingElse) {
  std::mt19937_64 random(8);
  for (int i = 0; i < 20'000; ++i) {
    const auto digits = static_cast<std::int64_t>(random() % 70'000'000);
    const std::string plain = decimal(digits, 6);
    const std::string bare = std::to_string(digits);
    const auto zeros = static_cast<std::size_t>(random() % 40);
    const int exponent = static_cast<int>(zeros + bare.size()) - 6;
    const std::string text = "0." + std::string(zeros, '0') + bare + "e" + std::to_string(exponent);
    ASSERT_EQ(decode_plain(text, Quantity::temperature, Unit::own),
              decode_plain(plain, Quantity::temperature, Unit::own))
        << text;
  }
}

TEST(ToMilli, RoundsTheDecimalThatWasWritten) {
  EXPECT_EQ(to_milli(1.0005), 1001);
  EXPECT_EQ(to_milli(-1.0005), -1001);
  EXPECT_EQ(to_milli(37.0005), 37001);
  EXPECT_EQ(to_milli(37.00049), 37000);
  EXPECT_EQ(to_milli(0.0005), 1);
  EXPECT_EQ(to_milli(0.00049999999), 0);
  EXPECT_EQ(to_milli(-0.0), 0);
  EXPECT_EQ(to_milli(1'999'999.9995), 2'000'000'000);
  EXPECT_EQ(to_milli(5e-324), 0);
  EXPECT_EQ(to_milli(static_cast<double>(37.6F)), 37600);
}

TEST(ToMilli, DiesOfWhatNoDecoderMayPass) {
  EXPECT_DEATH(to_milli(std::nan("")), "our own bug");
  EXPECT_DEATH(to_milli(HUGE_VAL), "our own bug");
  EXPECT_DEATH(to_milli(2e6), "our own bug");
}

TEST(Json, OneDecoderServesMessageAfterMessage) {
  JsonDecoder decoder;
  const std::vector<FieldPattern> fields = {{"/t", "", Quantity::temperature, Unit::own}};
  for (int i = 0; i < 1000; ++i) {
    const std::string number = decimal(20'000 + i, 3);
    EXPECT_EQ(decoder.decode("{\"t\":" + number + "}", fields)[0].value, Decoded(20'000 + i));
    EXPECT_EQ(decoder.decode("{\"t\":" + number, fields)[0].value, Decoded(Rejection::broken_json));
  }
  EXPECT_TRUE(decoder.decode("{}", {}).empty());
}

TEST(Json, NestingIsBoundedWhereTheLimitSays) {
  JsonDecoder decoder;
  const auto nested = [](std::size_t depth) {
    return std::string(depth, '[') + "1" + std::string(depth, ']');
  };
  const std::vector<FieldPattern> fields = {{"", "", Quantity::temperature, Unit::own}};
  EXPECT_EQ(decoder.decode(nested(limits::kJsonDepth - 1), fields)[0].value,
            Decoded(Rejection::wrong_type));
  EXPECT_EQ(decoder.decode(nested(limits::kJsonDepth + 1), fields)[0].value,
            Decoded(Rejection::broken_json));
}

TEST(Names, GoBothWays) {
  for (const std::string_view name : kQuantityNames)
    EXPECT_EQ(name_of(quantity_named(name).value()), name);
  EXPECT_FALSE(quantity_named("pressure"));
  EXPECT_FALSE(quantity_named(""));
  EXPECT_EQ(name_of(Rejection::empty), "empty");
  EXPECT_EQ(name_of(Rejection::duplicate_key), "duplicate_key");
  EXPECT_EQ(name_of(Rejection::unknown_probe), "unknown_probe");
}

// RFC 6901 section 5 (table from memory): each pointer and what it yields from the example
// document. The numbers are read as humidity, 0 to 8 percent.
TEST(Rfc6901Section5, EveryPointerOfTheTable) {
  const std::string document = R"({
      "foo": ["bar", "baz"],
      "": 0,
      "a/b": 1,
      "c%d": 2,
      "e^f": 3,
      "g|h": 4,
      "i\\j": 5,
      "k\"l": 6,
      " ": 7,
      "m~n": 8
   })";
  const std::pair<const char*, Decoded> table[] = {
      {"", Rejection::wrong_type},        // the whole document
      {"/foo", Rejection::wrong_type},    // ["bar", "baz"]
      {"/foo/0", Rejection::wrong_type},  // "bar"
      {"/", Milli{0}},
      {"/a~1b", Milli{1000}},
      {"/c%d", Milli{2000}},
      {"/e^f", Milli{3000}},
      {"/g|h", Milli{4000}},
      {"/i\\j", Milli{5000}},
      {"/k\"l", Milli{6000}},
      {"/ ", Milli{7000}},
      {"/m~0n", Milli{8000}},
  };
  JsonDecoder decoder;
  for (const auto& [pointer, expected] : table) {
    EXPECT_TRUE(valid_pointer(pointer));
    const std::vector<FieldPattern> fields = {{pointer, "", Quantity::humidity, Unit::own}};
    EXPECT_EQ(decoder.decode(document, fields)[0].value, expected) << pointer;
  }
}

// RFC 6901 section 4: ~1 is undone before ~0, so that ~01 is "~1" and not "/".
TEST(Rfc6901Section4, EscapesAndIndexes) {
  EXPECT_TRUE(token_is("~01", "~1"));
  EXPECT_FALSE(token_is("~01", "/"));
  EXPECT_TRUE(token_is("~0~1", "~/"));
  EXPECT_FALSE(token_is("~2", "~2"));
  EXPECT_FALSE(token_is("a~", "a~"));
  EXPECT_FALSE(token_is("a", "ab"));
  EXPECT_FALSE(token_is("ab", "a"));
  EXPECT_EQ(token_index("0"), 0U);
  EXPECT_EQ(token_index("10"), 10U);
  for (const char* bad :
       {"", "-", "00", "01", "-1", "+1", "1a", " 1", "1.0", "99999999999999999999"})
    EXPECT_FALSE(token_index(bad)) << bad;
  EXPECT_FALSE(valid_pointer("a"));
  EXPECT_FALSE(valid_pointer("/a~"));
  EXPECT_FALSE(valid_pointer("/~2"));
  EXPECT_TRUE(valid_pointer("/~0~1//"));
}

}  // namespace
}  // namespace clutchward
