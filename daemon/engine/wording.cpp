// Numbers as people read them.
#include "engine/wording.h"

namespace clutchward {
namespace {

std::string one_decimal_at_least(std::int64_t value) {
  std::string text = milli_exact(value);
  if (text.find('.') == std::string::npos) text += ".0";
  return text;
}

bool is_temperature(Quantity quantity) { return is_degrees(quantity) || quantity == Quantity::egg; }

std::string with_unit(std::int64_t value, std::int64_t shift, Quantity quantity, Show show) {
  if (!is_temperature(quantity)) return one_decimal_at_least(value) + " %";
  if (show == Show::celsius) return one_decimal_at_least(value) + " °C";
  return milli_text(value * 9 / 5 + shift, 1) + " °F";
}

}  // namespace

std::string quantity_text(Milli value, Quantity quantity, Show show) {
  return with_unit(value, 32'000, quantity, show);
}

std::string difference_text(Milli value, Quantity quantity, Show show) {
  return with_unit(value, 0, quantity, show);
}

}  // namespace clutchward
