// The templates of a cabinet's own page, and the parts that have a file of their own.
#pragma once

#include <string_view>

#include "web/page.h"

namespace clutchward {

extern const std::string_view kCabinetTemplate;
extern const std::string_view kFormTopPartial;
extern const std::string_view kFormsPartial;
extern const std::string_view kDoorTemplate;

// The rules in force: "name", "text", "from", "state". rule_page.cpp
HtmlList rules_data(const Site& site, const CabinetView& cabinet, const WatchView& watch);

// What a manager can do with the batches of this cabinet. batch_forms.cpp
void put_batch_forms(HtmlData& page, const Site& site, const CabinetView& cabinet,
                     const WatchView& watch);

}  // namespace clutchward
