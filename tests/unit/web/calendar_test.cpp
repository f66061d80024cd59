// The calendar's text; other people's parsers read it in tests/functional/web.
#include "web/calendar.h"

#include <gtest/gtest.h>

#include "fake_site.h"

namespace clutchward {
namespace {

using test::at;

BatchStanding geese() {
  BatchStanding batch;
  batch.record.id = "geese-3";
  batch.record.name = "Domestic goose";
  batch.record.eggs = 14;
  batch.record.set_at = at("2026-03-10T17:30:00Z");
  batch.cabinet_name = "Setter A; by the door, left";
  batch.dates = {{TaskKind::candle, 1, at("2026-03-20T17:30:00Z"), at("2026-03-20T17:30:00Z"),
                  "Candle: day 10", true},
                 {TaskKind::candle, 2, at("2026-04-03T17:30:00Z"), at("2026-04-03T17:30:00Z"),
                  "Candle: day 24", false},
                 {TaskKind::hatch, 1, at("2026-04-07T23:30:00Z"), at("2026-04-13T17:30:00Z"),
                  "Hatching expected", false}};
  return batch;
}

std::string text(const BatchStanding& batch, const char* now = test::kNow) {
  return calendar("Saltmere", test::dublin(), {batch}, at(now));
}

int events(const std::string& ics) {
  int found = 0;
  for (std::size_t i = ics.find("BEGIN:VEVENT"); i != std::string::npos;
       i = ics.find("BEGIN:VEVENT", i + 1))
    ++found;
  return found;
}

TEST(Calendar, HoldsWhatIsNotDoneOnTheSitesOwnDays) {
  const std::string ics = text(geese());
  EXPECT_EQ(events(ics), 2);
  EXPECT_NE(ics.find("UID:Saltmere.geese-3.candle.2@clutchward\r\n"), std::string::npos) << ics;
  EXPECT_NE(ics.find("DTSTART;VALUE=DATE:20260403\r\nDTEND;VALUE=DATE:20260404\r\n"),
            std::string::npos);
  // 23:30 UTC is the next day by summer time; the end is the day after the last.
  EXPECT_NE(ics.find("DTSTART;VALUE=DATE:20260408\r\nDTEND;VALUE=DATE:20260414\r\n"),
            std::string::npos);
  EXPECT_NE(ics.find("SUMMARY:geese-3: Candle: day 24\r\n"), std::string::npos);
  EXPECT_NE(ics.find("LOCATION:Setter A\\; by the door\\, left\r\n"), std::string::npos);
  EXPECT_NE(ics.find("18:30 IST"), std::string::npos);
}

TEST(Calendar, LinesAreAtMost75BytesAndUidsStayWhateverTheHour) {
  BatchStanding batch = geese();
  batch.cabinet_name = std::string(60, 'x') + "\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9\xC3\xA9" +
                       std::string(60, 'y');
  batch.record.id = "gänse 3/x";
  for (const char* now : {"2026-03-13T09:12:05Z", "2026-04-01T00:00:00Z"}) {
    const std::string ics = text(batch, now);
    for (std::size_t from = 0, to; (to = ics.find("\r\n", from)) != std::string::npos;
         from = to + 2)
      EXPECT_LE(to - from, 75u) << ics.substr(from, to - from);
    std::string unfolded;
    for (std::size_t i = 0; i < ics.size(); ++i) {
      if (ics.compare(i, 3, "\r\n ") == 0)
        i += 2;
      else
        unfolded += ics[i];
    }
    EXPECT_NE(unfolded.find("UID:Saltmere.g=c3=a4nse=203=2fx.candle.2@clutchward\r\n"),
              std::string::npos)
        << unfolded;
  }
}

TEST(Calendar, IsOneWithNoBatchesToo) {
  const std::string ics = calendar("Saltmere", test::dublin(), {}, at(test::kNow));
  EXPECT_EQ(ics.substr(0, 17), "BEGIN:VCALENDAR\r\n");
  EXPECT_NE(ics.find("X-WR-CALNAME:Saltmere\r\n"), std::string::npos);
  EXPECT_EQ(events(ics), 0);
}

}  // namespace
}  // namespace clutchward
