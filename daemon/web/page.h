// The status page: plain HTML for a phone, without a script. It shows and refreshes; it changes
// nothing.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "engine/view.h"
#include "web/watch_view.h"

namespace clutchward {

// A whole document. Every text from outside is escaped; what is no UTF-8 and control characters
// become U+FFFD. Lists at most limits::kPageCabinets cabinets, worst first, and counts the rest.
std::string page_html(const WatchView& watch, const std::vector<CabinetView>& cabinets);

std::string_view page_style();

// The templates (Mustache) and the style, in page_text.cpp.
extern const std::string_view kPageTemplate;
extern const std::string_view kPageStyle;

}  // namespace clutchward
