// The front page: plain HTML for a phone, right without a script. What a person asks first stands
// first.
#pragma once

#include <deque>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "engine/view.h"
#include "notification/told.h"
#include "web/batch_standing.h"
#include "web/gate.h"
#include "web/html.h"
#include "web/standing.h"
#include "web/watch_view.h"

namespace clutchward {

class PageWords;
struct Site;

// What a page is made of beside the cabinets.
struct PageScene {
  const WatchView& watch;
  const PageTerms& terms;
  const Visitor& visitor;
  const std::deque<AlarmEvent>& lately;     // newest last
  std::vector<BatchStanding> batches = {};  // that have not ended
  std::optional<Wall> last_look = {};       // of this person; none known: the last 24 h are told
  // As WebDoor::told.
  std::function<std::optional<WhoKnows>(const AlarmView& alarm)> told = {};
  bool turns = false;  // a rule counts the turns here: who turns by hand can say so
};

// How all cabinets stand, and those of one page of them in full.
struct Overview {
  std::string headline;
  Standing worst = Standing::unwatched;
  std::optional<Wall> newest;  // reading
  std::size_t all = 0;
  std::size_t page = 1;  // from 1
  std::vector<CabinetView> shown;
  // Cabinets that are left alone on purpose, by name, each with why; at most limits::kPageUnwatched
  std::vector<std::pair<std::string, std::string>> unwatched;
};
// Takes the views of those that page `page` shows (the last page, where there are not so many), the
// worst first, limits::kPageCabinets a page.
Overview overview_of(Roll& roll, const WatchView& watch, std::size_t page,
                     const std::function<std::optional<CabinetView>(const std::string&)>& view);

// A whole document. Every text from outside is escaped; what is no UTF-8 and control characters
// become U+FFFD.
std::string page_html(const PageScene& scene, const Overview& overview);

// One cabinet's card, with what this visitor can do; `to` is the page it stands on.
HtmlData card_data(const CabinetView& cabinet, const PageScene& scene, const std::string& to);
// What happened since the last look, newest first, at most `most`; of one cabinet, or of all ("").
void put_happened(HtmlData& page, const PageScene& scene, const std::string& cabinet,
                  std::size_t most);

// What comes next, soonest first, at most `most`; of one cabinet, or of all (""). What is neither
// done nor more than three days past.
HtmlList next_data(const PageScene& scene, const std::string& cabinet, std::size_t most);

// Since when the visitor had not looked; notes that it does now.
std::optional<Wall> last_look(Site& site, const Visitor& visitor);

// The templates (Mustache), the style and the script.
extern const std::string_view kPageTemplate;
extern const std::string_view kCardPartial;
extern const std::string_view kAlarmPartial;
extern const std::string_view kDeedsPartial;
extern const std::string_view kComingPartial;
extern const std::string_view kHappenedPartial;
extern const std::string_view kPageStyle;
extern const std::string_view kPageScript;
extern const std::string_view kPageIcon;
// Embedded files (cmake/embed.cmake): curve.js, and uPlot with its licence (vendor/).
extern const std::string_view kCurveScript;
extern const std::string_view kPlotScript;
extern const std::string_view kPlotStyle;

}  // namespace clutchward
