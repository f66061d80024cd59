// The front page: plain HTML for a phone, right without a script. What a person asks first stands
// first.
#pragma once

#include <deque>
#include <string>
#include <string_view>
#include <vector>

#include "engine/view.h"
#include "web/batch_standing.h"
#include "web/gate.h"
#include "web/html.h"
#include "web/watch_view.h"

namespace clutchward {

class PageWords;

// What a page is made of beside the cabinets.
struct PageScene {
  const WatchView& watch;
  const PageTerms& terms;
  const Visitor& visitor;
  const std::deque<AlarmEvent>& lately;     // newest last
  std::vector<BatchStanding> batches = {};  // that have not ended
};

// A whole document. Every text from outside is escaped; what is no UTF-8 and control characters
// become U+FFFD. Lists at most limits::kPageCabinets cabinets, worst first, and counts the rest.
std::string page_html(const PageScene& scene, const std::vector<CabinetView>& cabinets);

// One cabinet's card, with what this visitor can do; `to` is the page it stands on.
HtmlData card_data(const CabinetView& cabinet, const PageScene& scene, const std::string& to);
// What happened, newest first, at most `most`; of one cabinet, or of all ("").
HtmlList lately_data(const PageScene& scene, const std::string& cabinet, std::size_t most);

// What comes next, soonest first, at most `most`; of one cabinet, or of all (""). What is neither
// done nor more than three days past.
HtmlList next_data(const PageScene& scene, const std::string& cabinet, std::size_t most);

// The shared templates, under the names by which the others call them.
void put_partials(HtmlData& page);

std::string_view page_style();
std::string_view page_script();
std::string_view page_icon();

// The templates (Mustache), the style and the script.
extern const std::string_view kPageTemplate;
extern const std::string_view kCardPartial;
extern const std::string_view kAlarmPartial;
extern const std::string_view kDeedsPartial;
extern const std::string_view kPageStyle;
extern const std::string_view kPageScript;
extern const std::string_view kPageIcon;

}  // namespace clutchward
