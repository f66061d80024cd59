// Payload decoders: bytes -> one value in thousandths, or a named rejection. Nothing here guesses a
// unit, and NaN never gets past this file.
#pragma once

#include <span>
#include <string_view>
#include <variant>
#include <vector>

#include "reading/pattern.h"
#include "reading/reading.h"

namespace clutchward {

using Decoded = std::variant<Milli, Rejection>;

// A plain payload: a decimal number, blanks around it, a unit of the quantity behind it ("37.5",
// " 99.5 F", "37,5" is no number); on/off quantities take on off 1 0 true false yes no in any case;
// a turn takes any payload that is not empty, 0, off, false or no (those are Rejection::empty).
// Units: C °C Cel F °F for temperatures, % %RH for humidity, as they stand here and nothing else.
// A unit written in the payload wins over `unit`. Rounded half away from zero to thousandths.
Decoded decode_plain(std::string_view payload, Quantity quantity, Unit unit);

struct FieldReading {
  const FieldPattern* field;
  Decoded value;
};

// A JSON payload (RFC 8259, read whole): one entry a field, in the order of `fields`. A document
// that is broken, or in which a key stands twice, gives that rejection for every field. A number
// past a double is not_finite for its own field only. A number in quotes is no number (wrong_type).
// On/off quantities take true, false, 1, 0 and, in quotes, the words of a plain payload; a turn
// takes any number, true or word, of which 0, false and the words for off are Rejection::empty.
//
// Not thread-safe: one decoder a thread; it keeps its parser's memory.
class JsonDecoder {
 public:
  JsonDecoder();
  ~JsonDecoder();
  JsonDecoder(const JsonDecoder&) = delete;
  JsonDecoder& operator=(const JsonDecoder&) = delete;

  // The result is valid until the next call.
  std::span<const FieldReading> decode(std::string_view payload,
                                       const std::vector<FieldPattern>& fields);

 private:
  struct Parser;
  Parser* parser_;
  std::vector<FieldReading> readings_;
};

// A double as thousandths, half away from zero as the decimal number that was written would round
// (1.0005 is 1001 although its double is a little less). The value must be finite and below 2e6.
Milli to_milli(double value);

}  // namespace clutchward
