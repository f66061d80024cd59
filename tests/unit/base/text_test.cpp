// Text helpers: what strangers sent, made safe; numbers; ids.
#include "base/text.h"

#include <gtest/gtest.h>

#include <limits>
#include <random>

namespace clutchward {
namespace {

using namespace std::string_literals;

TEST(NearestWord, FindsSlipsOfTheHand) {
  const std::vector<std::string> known = {"topic", "quantity", "cabinet", "pointer", "on"};
  EXPECT_EQ(nearest_word("topik", known), "topic");
  EXPECT_EQ(nearest_word("tpoic", known), "topic");
  EXPECT_EQ(nearest_word("quantaty", known), "quantity");
  EXPECT_EQ(nearest_word("cabnit", known), "cabinet");
  EXPECT_EQ(nearest_word("pointer", known), "pointer");
  EXPECT_EQ(nearest_word("no", known), "on");
  EXPECT_EQ(nearest_word("elephant", known), "");
  EXPECT_EQ(nearest_word("", known), "");
  EXPECT_EQ(nearest_word(std::string(10'000, 'x'), known), "");
  EXPECT_EQ(nearest_word("topic", {}), "");
}

TEST(NearestWord, GoesNoFurtherThanAThirdOfTheWord) {
  EXPECT_EQ(nearest_word("abcdefghi", {"abcdefxyz"}), "abcdefxyz");  // 3 edits of 9
  EXPECT_EQ(nearest_word("abcdefgh", {"abcdexyz"}), "");             // 3 edits of 8
}

TEST(Printable, EscapesWhatCouldForgeALine) {
  EXPECT_EQ(printable("37.5 °C"), "37.5 °C");
  EXPECT_EQ(printable("a\nb\r\t\"c\"\\"), "a\\nb\\r\\t\\\"c\\\"\\\\");
  EXPECT_EQ(printable("\0\x1B[2J\x7F"s), "\\x00\\x1B[2J\\x7F");
  EXPECT_EQ(printable("\xFF\xC3"), "\\xFF\\xC3");
  EXPECT_EQ(printable("\xC2\x85"), "\\xC2\\x85");           // next line, a C1 control
  EXPECT_EQ(printable("\xE2\x80\xAE"), "\\xE2\\x80\\xAE");  // right-to-left override
  EXPECT_EQ(printable("\xED\xA0\x80"), "\\xED\\xA0\\x80");  // a surrogate
}

TEST(Printable, CutsToTheLimitAndSaysSo) {
  EXPECT_EQ(printable("abcdef", 6), "abcdef");
  EXPECT_EQ(printable("abcdefg", 6), "abc…");
  EXPECT_EQ(printable("abc\n\n", 7), "abc\\n\\n");
  EXPECT_EQ(printable("abc\n\n\n", 7), "abc…");  // never half an escape
  EXPECT_EQ(printable("äöüßéè", 10), "äöü…");    // never half a character
  EXPECT_EQ(printable("abcdef", 3), "…");
  EXPECT_EQ(printable("abcdef", 2), "");
}

TEST(Printable, AlwaysGivesShortValidText) {
  std::mt19937 random(7);
  for (int i = 0; i < 20'000; ++i) {
    std::string bytes(random() % 60, '\0');
    for (char& byte : bytes) byte = static_cast<char>(random());
    const std::size_t limit = random() % 80;
    const std::string shown = printable(bytes, limit);
    ASSERT_LE(shown.size(), limit);
    ASSERT_TRUE(valid_utf8(shown));
    for (const char c : shown) ASSERT_GE(static_cast<unsigned char>(c), 0x20);
  }
}

TEST(ToAscii, FoldsLatinAndDropsTheDegreeSign) {
  EXPECT_EQ(to_ascii("38.4 °C"), "38.4 C");
  EXPECT_EQ(to_ascii("Ångström Çedille ñandú Œuvre Straße"),
            "Angstrom Cedille nandu OEuvre Strasse");
  EXPECT_EQ(to_ascii("Łódź Žižkov Škoda čekání Đặng Nguyễn"),
            "Lodz Zizkov Skoda cekani Dang Nguyen");
  EXPECT_EQ(to_ascii("e\xCC\x81"), "e");  // a combining accent
  EXPECT_EQ(to_ascii("孵化 – \xFF"), "?? ? ?");
  EXPECT_EQ(to_ascii("plain\n"), "plain\n");
}

TEST(MilliText, RoundsHalfAwayFromZero) {
  EXPECT_EQ(milli_text(39'800, 1), "39.8");
  EXPECT_EQ(milli_text(37'000, 1), "37.0");
  EXPECT_EQ(milli_text(-500, 1), "-0.5");
  EXPECT_EQ(milli_text(37'050, 1), "37.1");
  EXPECT_EQ(milli_text(37'049, 1), "37.0");
  EXPECT_EQ(milli_text(-37'050, 1), "-37.1");
  EXPECT_EQ(milli_text(-49, 1), "0.0");
  EXPECT_EQ(milli_text(999'950, 1), "1000.0");
  EXPECT_EQ(milli_text(37'500, 0), "38");
  EXPECT_EQ(milli_text(37'499, 0), "37");
  EXPECT_EQ(milli_text(-5, 3), "-0.005");
  EXPECT_EQ(milli_text(37'755, 2), "37.76");
  EXPECT_EQ(milli_text(std::numeric_limits<std::int64_t>::min(), 3), "-9223372036854775.808");
}

TEST(MilliExact, IsTheShortestExactDecimal) {
  EXPECT_EQ(milli_exact(39'800), "39.8");
  EXPECT_EQ(milli_exact(37'000), "37");
  EXPECT_EQ(milli_exact(37'750), "37.75");
  EXPECT_EQ(milli_exact(37'001), "37.001");
  EXPECT_EQ(milli_exact(0), "0");
  EXPECT_EQ(milli_exact(-1), "-0.001");
  EXPECT_EQ(milli_exact(100'000), "100");
}

TEST(ValidUtf8, FollowsRfc3629) {
  for (const char* good : {"", "a", "\xC2\x80", "\xDF\xBF", "\xE0\xA0\x80", "\xED\x9F\xBF",
                           "\xEE\x80\x80", "\xF0\x90\x80\x80", "\xF4\x8F\xBF\xBF"})
    EXPECT_TRUE(valid_utf8(good)) << printable(good);
  for (const char* bad :
       {"\x80", "\xBF", "\xC0\x80", "\xC1\xBF", "\xC2", "\xC2\x41", "\xE0\x9F\xBF", "\xED\xA0\x80",
        "\xED\xBF\xBF", "\xE2\x82", "\xF0\x8F\xBF\xBF", "\xF4\x90\x80\x80", "\xF5\x80\x80\x80",
        "\xFE", "\xFF", "ok\xC3"})
    EXPECT_FALSE(valid_utf8(bad)) << printable(bad);
}

TEST(ValidId, TakesWhatTopicsAndFileNamesTake) {
  for (const std::string& good :
       {"setter-a"s, "7"s, "Brüter_3"s, "孵化器"s, "a.b"s, "..."s, std::string(64, 'x')})
    EXPECT_TRUE(valid_id(good)) << good;
  for (const std::string& bad :
       {""s, "a b"s, "a/b"s, "a+"s, "#"s, "a\n"s, "\0"s, "a\x7F"s, "."s, ".."s, "a\xC2\xA0"s,
        "a\xE2\x80\x8B"s, "\xFF"s, "a\xC2\x85"s, "a\xE3\x80\x80"s, std::string(65, 'x')})
    EXPECT_FALSE(valid_id(bad)) << printable(bad);
}

}  // namespace
}  // namespace clutchward
