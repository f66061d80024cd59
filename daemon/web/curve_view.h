// A curve with all that is shown beside it: the bands that were wanted, the alarms, in words, as a
// picture, as a table and as JSON. Plain values in, text out.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "engine/view.h"
#include "web/batch_standing.h"
#include "web/curve.h"
#include "web/html.h"
#include "web/watch_view.h"

namespace clutchward {

// Between `low` and `high` no rule for that quantity rings, or the stage wants it so.
struct CurveBand {
  Wall from{};
  Wall to{};
  Milli low = 0;
  Milli high = 0;
  std::optional<Milli> target;
  std::string stage;
  bool operator==(const CurveBand&) const = default;
};

// One alarm's time on the curve.
struct CurveAlarm {
  std::string batch;
  std::string alarm;
  RuleKind kind = RuleKind::above;
  Quantity quantity = Quantity::temperature;
  Priority priority = Priority::medium;
  Wall from{};
  std::optional<Wall> to;  // none: still so
  std::optional<Milli> worst;
  bool operator==(const CurveAlarm&) const = default;
};

struct CurveView {
  CurveWanted wanted;
  Curve curve;  // null: it did not come in time
  std::vector<CurveBand> temperature;
  std::vector<CurveBand> humidity;
  std::vector<CurveAlarm> alarms;
  std::optional<Wall> day_zero;  // set: time is told in days since then
};

// The bands of these batches between `from` and `to`: the target with the room that the cabinet's
// rules leave around it, and the stages' humidity.
void put_bands(CurveView& view, const CabinetView& cabinet,
               const std::vector<BatchStanding>& batches);
std::vector<CurveAlarm> alarms_of(const std::vector<CurveEvent>& events);

// What the curve says, one sentence each: for who does not see it. curve_words.cpp
std::vector<std::string> curve_words(const CurveView& view, const WatchView& watch);
// Rows of an hour or a day: "at", "low", "mean", "high", "humidity".
HtmlList curve_rows(const CurveView& view, const WatchView& watch);

// curve_picture.cpp: SVG of numbers and words of ours; "" where there is nothing to draw.
std::string curve_picture(const CurveView& view, Quantity quantity, const WatchView& watch);

// curve_json.cpp: Celsius and percent, times as seconds since 1970.
std::string curve_json(const CurveView& view);
// at, quantity, min, mean, max (RFC 4180)
std::string curve_csv(const CurveView& view);

}  // namespace clutchward
