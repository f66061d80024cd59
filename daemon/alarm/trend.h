// The words for a trend, the same on the page and in the pictures.
#pragma once

#include <array>
#include <string_view>

#include "alarm/event.h"

namespace clutchward {

inline std::string_view name_of(Trend trend) {
  constexpr std::array<std::string_view, 4> kNames = {"unknown", "steady", "rising", "falling"};
  return kNames.at(static_cast<std::size_t>(trend));
}

}  // namespace clutchward
