// The table "what wakes me", whole.
#include "notification/wake_table.h"

#include <gtest/gtest.h>

#include "house.h"

namespace clutchward {
namespace {

using namespace house;

TEST(WakeTable, WithoutTimesEverythingAlwaysRings) {
  const auto table = wake_table(saltmere());
  ASSERT_EQ(table.size(), 3u);
  EXPECT_EQ(table[1].contact, "mara");
  EXPECT_EQ(table[1].told, "at once");
  EXPECT_EQ(table[0].told, "after 5 min");
  EXPECT_EQ(table[1].rows, (std::vector<WakeRow>{{"always", {"webhook", "webhook", "webhook"}}}));
}

TEST(WakeTable, SaysAllInWordsForATerminal) {
  Settings settings = saltmere();
  settings.contacts.erase("jonas");
  settings.everyone_after = 10min;
  ChannelSettings ring;
  ring.ring = RingChannel{"ring", std::nullopt};
  ring.least = Priority::high;
  settings.contacts["mara"].push_back(ring);
  ContactTimes& mara = settings.contact_times["mara"];
  mara.quiet = {{0x7f, 22h, 6h + 30min}};
  mara.least = Priority::medium;
  mara.away = {{std::chrono::local_days{std::chrono::year{2026} / 7 / 12},
                std::chrono::local_days{std::chrono::year{2026} / 7 / 18}, "odile"}};
  settings.contact_times["odile"].hours = {{0x1f, 8h, 18h}, {0x20, 9h, 12h}};
  settings.rotas["duty"].begins = 8h;
  settings.rotas["duty"].days[5] = settings.rotas["duty"].days[6] = {"odile"};
  settings.escalation = {{0s, {"mara"}}, {15min, {"duty"}}};
  EXPECT_EQ(
      wake_text(settings),
      "What wakes whom, by the clocks of Europe/Dublin:\n"
      "\n"
      "Mara, told at once; with everyone after 25 min\n"
      "                         high            medium   low\n"
      "  every day 00:00-06:30  webhook, mqtt   waits    never\n"
      "  every day 06:30-22:00  webhook, mqtt   webhook  never\n"
      "  every day 22:00-24:00  webhook, mqtt   waits    never\n"
      "  away 12 Jul 2026 to 18 Jul 2026, Odile instead\n"
      "\n"
      "Odile, told after 15 min on duty (duty: sat,sun from 08:00); with everyone after 25 min\n"
      "                         high            medium   low\n"
      "  mon-fri 00:00-08:00    if nobody else  waits    waits\n"
      "  mon-fri 08:00-18:00    webhook         webhook  webhook\n"
      "  mon-fri 18:00-24:00    if nobody else  waits    waits\n"
      "  sat 00:00-09:00        if nobody else  waits    waits\n"
      "  sat 09:00-12:00        webhook         webhook  webhook\n"
      "  sat 12:00-24:00        if nobody else  waits    waits\n"
      "  sun 00:00-24:00        if nobody else  waits    waits\n"
      "  stands in for Mara 12 Jul 2026 to 18 Jul 2026\n"
      "\n"
      "  waits: told when that time ends, if it is still so and nobody has it.\n"
      "  if nobody else: outside the hours; a high alarm always reaches somebody.\n");
}

}  // namespace
}  // namespace clutchward
