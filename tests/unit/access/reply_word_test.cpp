// What a reply says, as people's mail programs write it.
#include "access/reply_word.h"

#include <gtest/gtest.h>

namespace clutchward {
namespace {

TEST(FirstOwnLine, IsTheFirstThatIsNotQuoted) {
  EXPECT_EQ(first_own_line("ack\n"), "ack");
  EXPECT_EQ(first_own_line("\r\n \t\r\n  ack  \r\nmore\r\n"), "ack");
  EXPECT_EQ(first_own_line("\xef\xbb\xbf\xc2\xa0snooze 45\xc2\xa0\n"), "snooze 45");
  EXPECT_EQ(first_own_line(""), "");
  EXPECT_EQ(first_own_line("\n\n"), "");
}

TEST(FirstOwnLine, StandsBelowWhatIsQuotedAsWell) {
  EXPECT_EQ(first_own_line("> TOO HOT Setter A\n> Now: 39.8\n\nreset\n"), "reset");
  EXPECT_EQ(first_own_line("On Sun, 1 Mar 2026 at 02:14, Clutchward Saltmere wrote:\n"
                           "> TOO HOT Setter A\n>\n> Open the door\n\nstatus\n"),
            "status");
  // A phone wraps the line that announces the quotation.
  EXPECT_EQ(first_own_line("On Sun, 1 Mar 2026 at 02:14, Clutchward Saltmere\n"
                           "<clutchward+q6abc@saltmere.example>\nwrote:\n\n> TOO HOT\n\nack\n"),
            "ack");
}

TEST(FirstOwnLine, OfAnAnnouncementWithoutAQuotationIsTheAnnouncement) {
  EXPECT_EQ(first_own_line("Note to self:\nack\n"), "Note to self:");
  EXPECT_EQ(first_own_line("ack\n\nOn Sunday Clutchward wrote:\n> reset\n"), "ack");
}

TEST(FirstOwnLine, NeverIsASignature) {
  EXPECT_EQ(first_own_line("-- \nack\n"), "");
  EXPECT_EQ(first_own_line("> ack\n-- \r\nMara\n"), "");
  EXPECT_EQ(first_own_line("> ack\n> -- \n> Clutchward\n"), "");
}

TEST(ReplyWord, IsAWordAlone) {
  const ReplyWord acknowledge{Deed::acknowledge, std::nullopt};
  EXPECT_EQ(reply_word("ack"), acknowledge);
  EXPECT_EQ(reply_word(" Ack. "), acknowledge);
  EXPECT_EQ(reply_word("ACKNOWLEDGE!"), acknowledge);
  EXPECT_EQ(reply_word("reset"), (ReplyWord{Deed::reset, std::nullopt}));
  EXPECT_EQ(reply_word("Status"), ReplyWord{});
  EXPECT_EQ(reply_word("snooze"), (ReplyWord{Deed::snooze, std::nullopt}));
  EXPECT_EQ(reply_word("Snooze 45"), (ReplyWord{Deed::snooze, 45.0}));
  EXPECT_EQ(reply_word("snooze 45 min."), (ReplyWord{Deed::snooze, 45.0}));
  EXPECT_EQ(reply_word("snooze  7.5min"), (ReplyWord{Deed::snooze, 7.5}));
}

TEST(ReplyWord, IsNotInsideASentence) {
  for (const char* line : {"",
                           "acknowledged",
                           "I ack",
                           "ack please",
                           "don't reset",
                           "reset reset",
                           "statuses",
                           "snooze x",
                           "snooze 0",
                           "snooze -5",
                           "snooze 45 days",
                           "snooze 45min min",
                           "snooze 1e9",
                           "snooze nan",
                           "snooze inf",
                           "snooze 0x20",
                           "snooze 99999999999999999999",
                           "snooze 4 5",
                           "ack\tnow",
                           "snooze 45 min please",
                           "I am out of the office until Monday"})
    EXPECT_EQ(reply_word(line), std::nullopt) << line;
}

}  // namespace
}  // namespace clutchward
