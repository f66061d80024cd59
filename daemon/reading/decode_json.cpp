// JSON payloads through simdjson's DOM reader, which reads the whole document before anything is
// taken out of it. It refuses what RFC 8259 leaves open: a byte order mark, a key that stands
// twice, nesting past limits::kJsonDepth.
#include <simdjson.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <optional>
#include <string>

#include "base/check.h"
#include "base/limits.h"
#include "reading/decimal.h"
#include "reading/decode.h"
#include "reading/pointer.h"
#include "reading/wide_numbers.h"

namespace clutchward {
namespace {

namespace dom = simdjson::dom;

// By value: a range-based for over simdjson's own result would walk a temporary that is gone.
dom::object object_of(dom::element element) { return element.get_object().value_unsafe(); }
dom::array array_of(dom::element element) { return element.get_array().value_unsafe(); }

using Keys = std::vector<std::string_view>;

// Small objects are compared pair by pair, where that is cheaper than sorting.
bool has_duplicate(dom::object object, Keys& scratch) {
  constexpr std::size_t kPairwise = 16;
  std::array<std::string_view, kPairwise> seen;
  std::size_t count = 0;
  for (const auto field : object) {
    if (count == kPairwise) break;
    for (std::size_t i = 0; i < count; ++i)
      if (seen[i] == field.key) return true;
    seen[count++] = field.key;
  }
  if (count < kPairwise) return false;
  scratch.clear();
  for (const auto field : object) scratch.push_back(field.key);
  std::sort(scratch.begin(), scratch.end());
  return std::adjacent_find(scratch.begin(), scratch.end()) != scratch.end();
}

// Recursion is bounded by the parser's depth.
bool any_duplicate(dom::element element, Keys& scratch) {
  if (element.is_object()) {
    const dom::object object = object_of(element);
    if (has_duplicate(object, scratch)) return true;
    for (const auto field : object)
      if (any_duplicate(field.value, scratch)) return true;
  } else if (element.is_array()) {
    for (const dom::element item : array_of(element))
      if (any_duplicate(item, scratch)) return true;
  }
  return false;
}

std::optional<dom::element> step(dom::element from, std::string_view token) {
  if (from.is_object()) {
    for (const auto field : object_of(from))
      if (token_is(token, field.key)) return field.value;
  } else if (from.is_array()) {
    auto left = token_index(token);
    if (!left) return std::nullopt;
    for (const dom::element item : array_of(from))
      if ((*left)-- == 0) return item;
  }
  return std::nullopt;
}

std::optional<dom::element> follow(dom::element root, std::string_view pointer) {
  std::optional<dom::element> at = root;
  while (at && !pointer.empty()) {
    const auto token = take_token(pointer);
    if (!token) return std::nullopt;
    at = step(*at, *token);
  }
  return at;
}

Decoded decode_double(double value, Quantity quantity, bool fahrenheit) {
  // The largest double stands for what a double cannot hold (wide_numbers.h).
  if (!(std::abs(value) < std::numeric_limits<double>::max())) return Rejection::not_finite;
  constexpr double kHuge = 1e6;
  if (std::abs(value) >= kHuge) return Rejection::implausible;
  if (!fahrenheit) {
    const Milli milli = to_milli(value);
    const PlausibleRange range = plausible_range(quantity);
    if (milli < range.low || milli > range.high) return Rejection::implausible;
    return milli;
  }
  return to_reading(fine_of(value), quantity, fahrenheit);
}

// On/off takes true, false, 1, 0 and the words of a plain payload; a turn any number but 0, true,
// or a word as in a plain payload.
Decoded decode_state(dom::element element, Quantity quantity) {
  const bool turn = quantity == Quantity::turn;
  if (element.is_bool()) {
    if (element.get_bool().value_unsafe()) return Milli{1000};
    return turn ? Decoded(Rejection::empty) : Decoded(Milli{0});
  }
  if (element.is_string()) {
    const std::string_view word = element.get_string().value_unsafe();
    const Decoded decoded = turn                           ? decode_turn(word)
                            : quantity == Quantity::signal ? decode_signal(word)
                                                           : decode_switch(word);
    const auto* rejection = std::get_if<Rejection>(&decoded);
    return rejection != nullptr && *rejection == Rejection::not_a_number
               ? Decoded(Rejection::wrong_type)
               : decoded;
  }
  if (!element.is_number()) return Rejection::wrong_type;
  const double value = element.get_double().value_unsafe();
  if (value == 0) return turn ? Decoded(Rejection::empty) : Decoded(Milli{0});
  if (turn || value == 1) return Milli{1000};
  return Rejection::implausible;
}

Decoded decode_element(dom::element element, const FieldPattern& field) {
  if (element.is_null()) return Rejection::null_value;
  switch (field.quantity) {
    case Quantity::turn:
    case Quantity::cooling:
    case Quantity::power:
    case Quantity::signal:
      return decode_state(element, field.quantity);
    case Quantity::turn_side:
      if (element.is_string())
        return decode_side(element.get_string().value_unsafe()).value_or(Rejection::wrong_type);
      break;
    case Quantity::turn_run:
    case Quantity::egg:
    case Quantity::temperature:
    case Quantity::humidity:
    case Quantity::wet_bulb:
    case Quantity::dew_point:
      break;
  }
  if (!element.is_number()) return Rejection::wrong_type;
  const bool fahrenheit = field.unit == Unit::fahrenheit && is_temperature(field.quantity);
  return decode_double(element.get_double().value_unsafe(), field.quantity, fahrenheit);
}

}  // namespace

struct JsonDecoder::Parser {
  dom::parser parser{2 * limits::kPayloadBytes};
  std::string buffer;
  Keys scratch;

  Parser() {
    CHECK(parser.allocate(2 * limits::kPayloadBytes, limits::kJsonDepth) == simdjson::SUCCESS);
    buffer.reserve(2 * limits::kPayloadBytes + simdjson::SIMDJSON_PADDING);
  }

  simdjson::error_code parse(dom::element& root) {
    buffer.reserve(buffer.size() + simdjson::SIMDJSON_PADDING);
    return parser.parse(buffer.data(), buffer.size(), false).get(root);
  }

  // The whole document, or why there is none.
  std::optional<Rejection> read(std::string_view payload, dom::element& root) {
    if (payload.empty()) return Rejection::empty;
    if (payload.size() > limits::kPayloadBytes) return Rejection::too_long;
    if (payload.starts_with("\xEF\xBB\xBF")) return Rejection::broken_json;
    buffer.assign(payload);
    auto fault = parse(root);
    if (fault == simdjson::NUMBER_ERROR) {
      narrow_numbers(payload, buffer);
      fault = parse(root);
    }
    if (fault != simdjson::SUCCESS) return Rejection::broken_json;
    if (any_duplicate(root, scratch)) return Rejection::duplicate_key;
    return std::nullopt;
  }
};

JsonDecoder::JsonDecoder() : parser_(new Parser) {}
JsonDecoder::~JsonDecoder() { delete parser_; }

std::span<const FieldReading> JsonDecoder::decode(std::string_view payload,
                                                  const std::vector<FieldPattern>& fields) {
  readings_.clear();
  dom::element root;
  const std::optional<Rejection> fault = parser_->read(payload, root);
  for (const FieldPattern& field : fields) {
    Decoded value = Rejection::missing;
    if (fault)
      value = *fault;
    else if (const auto element = follow(root, field.pointer))
      value = decode_element(*element, field);
    readings_.push_back({&field, value});
  }
  return readings_;
}

}  // namespace clutchward
