// When a hen's eggs hatch, over both changes of the clock. The dates of the changes are Ireland's
// of 2026 as the tz database has them (from memory: the last Sundays of March and October at 01:00
// UTC).
#include <gtest/gtest.h>

#include "base/zone.h"
#include "cabinet/batch_dates.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

Wall at(const char* text) { return *parse_rfc3339(text); }

std::optional<BatchDate> find(const std::vector<BatchDate>& dates, TaskKind kind) {
  for (const BatchDate& date : dates)
    if (date.kind == kind) return date;
  return std::nullopt;
}

// The incubation of a hen's egg is 21 days in every handbook, which is 504 hours (common practice);
// that hours do not follow the clock is derived. A hen's batch set on 2025-03-01 09:00 is at hour
// 504 on 2025-03-22 09:00, and a local clock change in between must not shift hours.
TEST(HatchHours, AHensFiveHundredAndFourHoursHoldOverBothClockChanges) {
  const Zone dublin("Europe/Dublin", {{Wall{}, 0s, "GMT"},
                                      {at("2026-03-29T01:00:00Z"), 3600s, "IST"},
                                      {at("2026-10-25T01:00:00Z"), 0s, "GMT"}});
  Profile hen;
  hen.id = "hen";
  hen.days = 21;
  hen.stages.resize(1);
  for (const auto& [set, local_shift] :
       {std::pair{at("2026-03-20T09:00:00Z"), 1h}, std::pair{at("2026-10-10T08:00:00Z"), -1h}}) {
    const auto hatch = find(dates_of(hen, set), TaskKind::hatch);
    EXPECT_EQ(hatch->from - set, 504h);
    EXPECT_EQ(dublin.to_local(hatch->from) - dublin.to_local(set), 504h + local_shift);
  }
  const Wall plain = at("2025-03-01T09:00:00Z");
  EXPECT_EQ(find(dates_of(hen, plain), TaskKind::hatch)->from, at("2025-03-22T09:00:00Z"));
}

}  // namespace
}  // namespace clutchward
