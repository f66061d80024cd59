// Whatever a stranger can publish, thrown at the decoders and the topic matcher: they must return,
// and what they return must keep their promises.
#include <cstddef>
#include <cstdint>

#include "base/check.h"
#include "base/limits.h"
#include "reading/decode.h"
#include "reading/pattern.h"

namespace clutchward {
namespace {

constexpr std::size_t kQuantities = kQuantityNames.size();

void check(const Decoded& decoded, Quantity quantity) {
  const auto* value = std::get_if<Milli>(&decoded);
  if (value == nullptr) {
    CHECK(!name_of(std::get<Rejection>(decoded)).empty());
    return;
  }
  const PlausibleRange range = plausible_range(quantity);
  CHECK(*value >= range.low && *value <= range.high);
}

std::vector<FieldPattern> some_fields() {
  std::vector<FieldPattern> fields;
  for (const char* pointer : {"", "/temperature", "/0", "/outer/temperature", "/a~1b/c~0d", "/"})
    for (std::size_t i = 0; i < kQuantities; ++i)
      fields.push_back(
          {pointer, "", static_cast<Quantity>(i), i % 2 == 0 ? Unit::fahrenheit : Unit::own});
  return fields;
}

void decode_all(std::string_view payload) {
  for (std::size_t i = 0; i < kQuantities; ++i)
    for (const Unit unit : {Unit::own, Unit::celsius, Unit::fahrenheit})
      check(decode_plain(payload, static_cast<Quantity>(i), unit), static_cast<Quantity>(i));
  static JsonDecoder decoder;
  static const std::vector<FieldPattern> fields = some_fields();
  const auto readings = decoder.decode(payload, fields);
  CHECK(readings.size() == fields.size());
  for (const FieldReading& reading : readings) check(reading.value, reading.field->quantity);
}

// The first line is a pattern, the second a topic.
void match_both(std::string_view text) {
  const std::size_t line = text.find('\n');
  if (line == std::string_view::npos) return;
  TopicPattern pattern;
  pattern.topic = text.substr(0, line);
  pattern.quantity = Quantity::temperature;
  const std::string_view topic = text.substr(line + 1);
  const bool good = pattern_fault(pattern).empty();
  const auto found = match(pattern, topic);
  (void)topic_filter(pattern);
  if (good && found && found->unfit.empty())
    CHECK(valid_id(found->cabinet) && valid_id(found->probe));
}

}  // namespace
}  // namespace clutchward

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  clutchward::decode_all(text);
  clutchward::match_both(text);
  return 0;
}
