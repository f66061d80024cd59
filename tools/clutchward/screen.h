// The status as lines for a terminal: one screen, aligned, the worst first.
#pragma once

#include <string>
#include <vector>

#include "engine/view.h"
#include "web/watch_view.h"

namespace clutchward {

enum class Colour : bool { off, on };

// On where `descriptor` is a terminal that is not "dumb" and NO_COLOR is not set to anything.
Colour colour_for(int descriptor);

std::string status_screen(const WatchView& watch, const std::vector<CabinetView>& cabinets,
                          Colour colour);

// One or two lines: what is now true of one cabinet.
std::string cabinet_lines(const WatchView& watch, const CabinetView& cabinet);

// `text` without control characters, so that nothing it says can move the cursor; and its width in
// characters.
std::string tame(const std::string& text);
std::size_t width_of(const std::string& text);

}  // namespace clutchward
