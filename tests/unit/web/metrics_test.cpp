// OpenMetrics text, whole.
#include "web/metrics.h"

#include <gmock/gmock.h>

#include "fake_site.h"

namespace clutchward {
namespace {

using testing::EndsWith;
using testing::HasSubstr;
using testing::Not;

std::string open_metrics(const WatchView& watch, const std::vector<CabinetView>& cabinets) {
  return metrics(watch, cabinets, MetricsForm::open_metrics);
}

TEST(Metrics, HasFamiliesInBaseUnitsAndAnEnd) {
  const std::string text = open_metrics(test::watch(), test::saltmere());
  EXPECT_THAT(text, EndsWith("\n# EOF\n"));
  EXPECT_THAT(text, HasSubstr("# TYPE clutchward_cabinet_temperature_celsius gauge\n"
                              "# UNIT clutchward_cabinet_temperature_celsius celsius\n"));
  EXPECT_THAT(text,
              HasSubstr("\nclutchward_cabinet_temperature_celsius{cabinet=\"setter-a\"} 39.8\n"));
  EXPECT_THAT(text,
              HasSubstr("\nclutchward_cabinet_humidity_ratio{cabinet=\"setter-a\"} 0.5525\n"));
  EXPECT_THAT(text,
              HasSubstr("\nclutchward_cabinet_last_reading_timestamp_seconds{cabinet=\"setter-a\"} "
                        "1773393121\n"));
  EXPECT_THAT(text, HasSubstr("\nclutchward_build_info{version=\"0.1.0\"} 1\n"));
  EXPECT_THAT(text, HasSubstr("\nclutchward_readings_total 12345\n"));
  EXPECT_THAT(text, HasSubstr("\nclutchward_payload_errors_total{reason=\"broken_json\"} 2\n"));
  EXPECT_THAT(text, HasSubstr("\nclutchward_alarms_active{severity=\"high\"} 1\n"
                              "clutchward_alarms_active{severity=\"medium\"} 1\n"
                              "clutchward_alarms_active{severity=\"low\"} 0\n"));
  EXPECT_THAT(text, HasSubstr("\nclutchward_notifications_total{contact=\"mara\",channel=\"email\","
                              "result=\"delivered\"} 3\n"));
}

TEST(Metrics, WhatIsNotKnownHasNoSample) {
  const std::string text = open_metrics(test::watch(), test::saltmere());
  EXPECT_THAT(text, Not(HasSubstr("temperature_celsius{cabinet=\"setter-c\"}")));
  EXPECT_THAT(text, HasSubstr("clutchward_cabinet_fresh{cabinet=\"setter-c\"} 0\n"));
  EXPECT_THAT(text, Not(HasSubstr("humidity_ratio{cabinet=\"setter-b\"}")));
}

TEST(Metrics, RatiosAndTemperaturesAreExact) {
  CabinetView view = test::cabinet("a", "A", -500);
  const auto line = [&](Milli humidity) {
    view.humidity = humidity;
    return open_metrics(test::watch(), {view});
  };
  EXPECT_THAT(line(100'000), HasSubstr("_ratio{cabinet=\"a\"} 1\n"));
  EXPECT_THAT(line(0), HasSubstr("_ratio{cabinet=\"a\"} 0\n"));
  // Sixteen digits of a double (the library's choice): read back it is the same number.
  const std::string text = line(7);
  const std::string before = "\nclutchward_cabinet_humidity_ratio{cabinet=\"a\"} ";
  const auto at = text.find(before);
  ASSERT_NE(at, std::string::npos);
  EXPECT_NEAR(std::stod(text.substr(at + before.size())), 0.00007, 1e-18);
  EXPECT_THAT(line(7), HasSubstr("_temperature_celsius{cabinet=\"a\"} -0.5\n"));
}

TEST(Metrics, LabelsAreEscapedAndNoSeriesStandsTwice) {
  WatchView watch = test::watch();
  watch.channels.push_back(watch.channels[0]);
  CabinetView view = test::cabinet("a\"b\\c\nd", "A", 37'500);
  const std::string text = open_metrics(watch, {view});
  EXPECT_THAT(text, HasSubstr(R"({cabinet="a\"b\\c\nd"} 37.5)"));
  EXPECT_THAT(text, HasSubstr("result=\"delivered\"} 6\n"));
  EXPECT_THAT(text, Not(HasSubstr("result=\"delivered\"} 3\n")));
}

TEST(Metrics, TheOlderFormIsForThoseWhoAskForIt) {
  EXPECT_EQ(metrics_form(""), MetricsForm::open_metrics);
  EXPECT_EQ(metrics_form("*/*"), MetricsForm::open_metrics);
  EXPECT_EQ(metrics_form("text/plain"), MetricsForm::text);
  EXPECT_EQ(metrics_form("application/openmetrics-text;version=1.0.0,text/plain;q=0.5"),
            MetricsForm::open_metrics);
  const std::string text = metrics(test::watch(), test::saltmere(), MetricsForm::text);
  EXPECT_THAT(text, HasSubstr("# HELP clutchward_readings_total Readings accepted.\n"
                              "# TYPE clutchward_readings_total counter\n"
                              "clutchward_readings_total 12345\n"));
  EXPECT_THAT(text, HasSubstr("# TYPE clutchward_build_info gauge\n"));
  EXPECT_THAT(text, Not(HasSubstr("# EOF")));
  EXPECT_THAT(text, Not(HasSubstr("# UNIT")));
}

}  // namespace
}  // namespace clutchward
