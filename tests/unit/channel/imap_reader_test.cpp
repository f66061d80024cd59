// Lines and literals of a mail server, in pieces of any size and of any ill will.
#include "channel/imap_reader.h"

#include <gtest/gtest.h>

#include "base/limits.h"

namespace clutchward {
namespace {

// As Debian's Dovecot says it, with a mail in it that says what a server says.
const std::string kTalk =
    "* 1 FETCH (UID 7 FLAGS (\\Recent) BODY[] {35}\r\nc3 OK haha\r\n* 9 "
    "EXISTS\r\n{99}\r\nack\r\n)\r\n"
    "c3 OK Fetch completed.\r\n";

TEST(ImapReader, CutsAlikeWhereverThePiecesEnd) {
  for (std::size_t piece = 1; piece <= kTalk.size(); ++piece) {
    ImapReader reader;
    for (std::size_t at = 0; at < kTalk.size(); at += piece)
      ASSERT_TRUE(reader.feed(std::string_view(kTalk).substr(at, piece)));
    const auto first = reader.next();
    ASSERT_TRUE(first);
    EXPECT_EQ(first->text, "* 1 FETCH (UID 7 FLAGS (\\Recent) BODY[] {35})");
    ASSERT_EQ(first->literals.size(), 1U);
    EXPECT_EQ(first->literals[0], "c3 OK haha\r\n* 9 EXISTS\r\n{99}\r\nack\r\n");
    const auto second = reader.next();
    ASSERT_TRUE(second);
    EXPECT_EQ(second->text, "c3 OK Fetch completed.");
    EXPECT_FALSE(reader.next());
  }
}

TEST(ImapReader, TakesEmptyAndSeveralLiterals) {
  ImapReader reader;
  ASSERT_TRUE(reader.feed("* 1 FETCH (A {0}\r\n B {3+}\r\nabc C)\n"));
  const auto line = reader.next();
  ASSERT_TRUE(line);
  EXPECT_EQ(line->text, "* 1 FETCH (A {0} B {3+} C)");
  EXPECT_EQ(line->literals, (std::vector<std::string>{"", "abc"}));
}

TEST(ImapReader, EndsAtItsLimits) {
  ImapReader endless;
  EXPECT_FALSE(endless.feed(std::string(limits::kImapLineBytes + 1, 'a')));
  EXPECT_FALSE(endless.feed("\r\n"));
  EXPECT_FALSE(endless.next());
  ImapReader literal;
  EXPECT_FALSE(literal.feed("* 1 FETCH {" + std::to_string(limits::kMailBytes + 1) + "}\r\n"));
  ImapReader huge;
  EXPECT_TRUE(huge.feed("* 1 FETCH {99999999999999999999}\r\n"));  // no number: plain text
  ImapReader many;
  bool well = true;
  for (int i = 0; well && i < 100'000; ++i)
    well = many.feed("* OK " + std::string(60, 'x') + "\r\n");
  EXPECT_FALSE(well);
}

TEST(Imap, NumbersBehindWords) {
  EXPECT_EQ(imap_number("* OK [UIDVALIDITY 1795645614] UIDs valid", "UIDVALIDITY"), 1795645614U);
  EXPECT_EQ(imap_number("* ok [uidnext 2] Predicted next UID", "UIDNEXT"), 2U);
  EXPECT_EQ(imap_number("* 1 FETCH (UID 7 RFC822.SIZE 103)", "RFC822.SIZE"), 103U);
  EXPECT_EQ(imap_number("* 1 FETCH (FUID 7)", "UID"), std::nullopt);
  EXPECT_EQ(imap_number("* OK [UIDNEXT 99999999999]", "UIDNEXT"), std::nullopt);
  EXPECT_EQ(imap_number("* OK [UIDNEXT x]", "UIDNEXT"), std::nullopt);
  EXPECT_EQ(imap_number("", "UID"), std::nullopt);
}

TEST(Imap, Searches) {
  EXPECT_EQ(imap_search("* SEARCH 4 17  3"), (std::vector<std::uint32_t>{4, 17, 3}));
  EXPECT_EQ(imap_search("* SEARCH"), std::vector<std::uint32_t>());
  EXPECT_EQ(imap_search("* SEARCH 4 (MODSEQ 9)"), std::vector<std::uint32_t>{4});
  EXPECT_EQ(imap_search("* 4 EXISTS"), std::nullopt);
}

TEST(Imap, Exists) {
  EXPECT_TRUE(imap_exists("* 18 EXISTS"));
  EXPECT_FALSE(imap_exists("* 18 RECENT"));
  EXPECT_FALSE(imap_exists("c1 18 EXISTS"));
  EXPECT_FALSE(imap_exists("* OK it EXISTS, or not"));
}

}  // namespace
}  // namespace clutchward
