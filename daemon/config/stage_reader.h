// The stages of a profile: YAML -> Stage. Knows nothing of the profile's other keys.
#pragma once

#include "cabinet/profile.h"
#include "config/section.h"

namespace clutchward {

// Millionths of a day as a span, rounded to the millisecond: 86,400,000 ms a day.
Span days_to_span(std::int64_t millionths);

// Reads `stages:` into `profile`, whose stages are those of the profile that it is based on (none:
// it stands alone). A stage of the same name is changed key by key, another one is put in by its
// day. `site` and profile.rules are what a stage's rules lie on.
void read_stages(const Field& field, const RulePatches& site, Profile& profile);

}  // namespace clutchward
