// Verdicts: past is past, and too little data is said.
#include "quality/measures.h"

#include <gtest/gtest.h>

namespace clutchward {
namespace {

using namespace std::chrono_literals;

QualityMeasure named(const std::vector<QualityMeasure>& all, const std::string& key) {
  for (const QualityMeasure& one : all)
    if (one.key == key) return one;
  ADD_FAILURE() << "no measure " << key;
  return {};
}

TEST(Measures, AShortTimeIsNoProofOfCalm) {
  LoadFigures load;
  load.watched = 24h * 7;
  load.windows = 7 * 144;
  const auto calm = named(load_measures(load, "mara"), "alarms_a_day");
  EXPECT_EQ(calm.verdict, Verdict::too_little);
  EXPECT_EQ(calm.why, "30 days are asked for");
  EXPECT_EQ(calm.who, "mara");
  load.alarms = 7 * 145;
  EXPECT_EQ(named(load_measures(load, ""), "alarms_a_day").verdict, Verdict::past);
  load.watched = 24h * 30;
  EXPECT_EQ(named(load_measures(load, ""), "alarms_a_day").verdict, Verdict::within);
}

TEST(Measures, OneBadHourIsNoRateADay) {
  LoadFigures load;
  load.watched = 1h;
  load.windows = 6;
  load.alarms = load.peak = load.flood_alarms = 11;
  load.busy_windows = load.flood_windows = load.floods = 1;
  const auto all = load_measures(load, "");
  EXPECT_EQ(named(all, "alarms_a_day").verdict, Verdict::too_little);
  EXPECT_EQ(named(all, "alarms_a_day").why, "less than a day");
  EXPECT_EQ(named(all, "flood_time").verdict, Verdict::too_little);
  EXPECT_EQ(named(all, "peak_in_10_min").verdict, Verdict::past);  // a count is a count
}

TEST(Measures, FewAlarmsMakeNoShares) {
  TallyFigures figures;
  figures.load.watched = 24h * 40;
  figures.raised = 3;
  figures.different = 2;
  figures.ten_most = 3;
  figures.annunciated_by_priority = {{"high", 3}};
  const auto all = alarm_measures(figures);
  EXPECT_EQ(named(all, "share_high").value, 100);
  EXPECT_EQ(named(all, "share_high").verdict, Verdict::too_little);
  EXPECT_EQ(named(all, "share_high").why, "3 alarms, 20 at least");
  EXPECT_EQ(named(all, "ten_most").verdict, Verdict::too_little);
  EXPECT_EQ(named(all, "answer_p50").value, std::nullopt);
  EXPECT_EQ(named(all, "answer_p50").verdict, Verdict::too_little);
  EXPECT_EQ(named(all, "never_acknowledged").verdict, Verdict::none);
  EXPECT_EQ(named(all, "chattering").verdict, Verdict::within);
}

TEST(Measures, EachHasATargetAndASource) {
  auto all = alarm_measures({});
  for (auto& one : load_measures({}, "")) all.push_back(one);
  for (const QualityMeasure& one : all) {
    EXPECT_FALSE(one.target.empty()) << one.key;
    EXPECT_FALSE(one.source.empty()) << one.key;
    EXPECT_FALSE(one.what.empty()) << one.key;
  }
}

}  // namespace
}  // namespace clutchward
