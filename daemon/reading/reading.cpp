// The names of quantities and rejections, and what each quantity may plausibly be. Nothing here
// decides what to do about a reading.
#include "reading/reading.h"

namespace clutchward {
namespace {

constexpr std::array<std::string_view, kRejections> kRejectionNames = {
    "empty",       "too_long",      "not_a_number",   "not_finite", "bad_unit",
    "broken_json", "duplicate_key", "missing",        "null_value", "wrong_type",
    "implausible", "unknown_probe", "above_dry_bulb", "bad_name"};
static_assert(static_cast<std::size_t>(Rejection::bad_name) + 1 == kRejections);

}  // namespace

std::string_view name_of(Quantity quantity) {
  return kQuantityNames[static_cast<std::size_t>(quantity)];
}

std::optional<Quantity> quantity_named(std::string_view name) {
  for (std::size_t i = 0; i < kQuantityNames.size(); ++i)
    if (kQuantityNames[i] == name) return static_cast<Quantity>(i);
  return std::nullopt;
}

PlausibleRange plausible_range(Quantity quantity) {
  switch (quantity) {
    case Quantity::temperature:
    case Quantity::wet_bulb:
    case Quantity::dew_point:
    case Quantity::egg:
      return {-20'000, 60'000};
    case Quantity::humidity:
      return {0, 100'000};
    case Quantity::turn_run:
      return {0, 3'600'000};
    case Quantity::turn_side:
      return {-180'000, 180'000};
    case Quantity::turn:
    case Quantity::cooling:
    case Quantity::power:
    case Quantity::signal:
      break;
  }
  return {0, 1000};
}

std::string_view name_of(Rejection rejection) {
  return kRejectionNames[static_cast<std::size_t>(rejection)];
}

}  // namespace clutchward
