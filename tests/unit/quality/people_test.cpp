// Messages and alarms by person: a reminder is a ring of the phone and no new alarm.
#include "quality/people.h"

#include <gtest/gtest.h>

#include "events.h"

namespace clutchward {
namespace {

using quality_test::event;
using quality_test::kStart;
using namespace std::chrono_literals;

Notification note(const std::string& contact, Span at, std::vector<AlarmEvent> events,
                  Urgency urgency = Urgency::high) {
  Notification made;
  made.contact = contact;
  made.urgency = urgency;
  made.first_line = "TOO HOT Setter A";
  made.events = std::move(events);
  made.made_at = kStart + at;
  return made;
}

TEST(PeopleTally, CountsMessagesAndAlarmsApart) {
  PeopleTally people;
  const AlarmEvent raised = event(1min, EventKind::raised);
  people.take(note("mara", 1min, {raised}));
  people.take(note("mara", 4min, {raised}));  // the reminder
  people.take(note("mara", 5min, {event(5min, EventKind::raised, "hot"), raised}));
  people.take(note("mara", 9min, {event(9min, EventKind::returned)}, Urgency::quiet));
  people.take(note("joss", 16min, {raised}, Urgency::medium));
  const auto figures = people.figures(kStart, kStart + 24h);
  ASSERT_EQ(figures.size(), 2U);
  EXPECT_EQ(figures[0].contact, "joss");
  EXPECT_EQ(figures[1].messages, 3U);
  EXPECT_EQ(figures[1].alarms.alarms, 2U);
  EXPECT_EQ(figures[1].by_urgency, (std::array<std::uint64_t, 4>{1, 0, 0, 3}));
  EXPECT_EQ(figures[0].alarms.per_day(), 1);
}

TEST(PeopleTally, OneMessageOverTwoChannelsIsOne) {
  PeopleTally people;
  Notification one = note("mara", 1min, {event(1min, EventKind::raised)});
  people.take(one);
  one.channel = 1;
  people.take(one);
  EXPECT_EQ(people.figures(kStart, kStart + 1h)[0].messages, 1U);
}

}  // namespace
}  // namespace clutchward
