// The curve as a section of a page: its words and its picture stand there without a script, which
// only makes it one to move a finger on.
#pragma once

#include <string>
#include <vector>

#include "web/curve_view.h"
#include "web/html.h"

namespace clutchward {

// Where the section stands and what else can be shown there.
struct CurvePlace {
  std::string page;                  // path
  std::string query;                 // of /api/history, for the same curve
  std::vector<std::string> batches;  // whose whole life can be chosen
};

void put_curve(HtmlData& page, const CurveView& view, const CurvePlace& place,
               const WatchView& watch);

extern const std::string_view kCurvePartial;

}  // namespace clutchward
