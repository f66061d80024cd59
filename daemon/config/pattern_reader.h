// Topic patterns and cabinets: YAML -> TopicPattern, CabinetSettings. Whether a pattern can work at
// all is reading/'s word (pattern_fault).
#pragma once

#include <map>
#include <string>
#include <vector>

#include "cabinet/settings.h"
#include "config/section.h"

namespace clutchward {

// The on/off quantities that rules of kind signal name.
using SignalNames = std::vector<std::string>;

std::vector<TopicPattern> read_patterns(const Field& field, const SignalNames& signals);

// At most `most` cabinets.
std::map<std::string, CabinetSettings> read_cabinets(const Field& field, int most);

}  // namespace clutchward
