#include "fault.h"

#include <algorithm>
#include <charconv>
#include <vector>

#include "base/text.h"

namespace clutchward::sim {

namespace {

using enum FaultKind;

constexpr FaultWord kWords[] = {
    {heater_on, "heater-on", "the heater is stuck on", "share of full power", 1, 0, 1},
    {heater_dead, "heater-dead", "the heater gives no heat", ""},
    {creep, "creep", "the thermostat drifts upwards", "degrees Celsius per hour", 0.5, -10, 10},
    {fan, "fan", "the fan stands still; warm air gathers at the top", ""},
    {door, "door", "the door stands open", "how wide, 0 to 1", 1, 0, 1},
    {probe_dead, "probe-dead", "a probe says nothing any more", "top, middle or bottom"},
    {probe_frozen, "probe-frozen", "a probe repeats its last value", "top, middle or bottom"},
    {turner, "turner", "the turner stands still", ""},
    {power, "power", "the mains fail; probes and radio run on a battery", ""},
    {radio, "radio", "nothing of the cabinet is heard", ""},
};

Refusal refuse(std::string_view text, std::string why) {
  return {"fault \"" + printable(text) + "\": " + std::move(why)};
}

const FaultWord* word_named(std::string_view word) {
  const auto* it = std::ranges::find(kWords, word, &FaultWord::word);
  return it == std::end(kWords) ? nullptr : it;
}

std::string unknown_word(std::string_view word) {
  std::vector<std::string> known;
  for (const FaultWord& each : kWords) known.emplace_back(each.word);
  std::string why = "there is no fault \"" + printable(word) + "\"";
  if (const std::string near = nearest_word(word, known); !near.empty())
    why += ", did you mean \"" + near + "\"";
  return why + "; --list-faults lists them";
}

// Cuts what follows `mark` off `text`.
std::optional<std::string_view> cut(std::string_view& text, char mark) {
  const auto at = text.find(mark);
  if (at == std::string_view::npos) return {};
  const auto tail = text.substr(at + 1);
  text = text.substr(0, at);
  return tail;
}

// "" where it went well.
std::string set_size(Fault& fault, const FaultWord& word, std::optional<std::string_view> size) {
  const std::string name = "\"" + std::string(word.word) + "\"";
  if (word.kind == probe_dead || word.kind == probe_frozen) {
    fault.probe = size.value_or("top");
    if (std::ranges::find(kProbes, fault.probe) == std::end(kProbes))
      return name + " expects top, middle or bottom, not \"" + printable(fault.probe) + "\"";
    return "";
  }
  fault.size = word.usual;
  if (!size) return "";
  if (word.size.empty()) return name + " takes no size";
  const char* end = size->data() + size->size();
  const auto read = std::from_chars(size->data(), end, fault.size);
  if (read.ec != std::errc{} || read.ptr != end || !(fault.size >= word.least) ||
      !(fault.size <= word.most))
    return name + " expects a number (" + std::string(word.size) + ") from " +
           milli_exact(static_cast<std::int64_t>(word.least * 1000)) + " to " +
           milli_exact(static_cast<std::int64_t>(word.most * 1000)) + ", not \"" +
           printable(*size) + "\"";
  return "";
}

}  // namespace

std::span<const FaultWord> fault_words() { return kWords; }

Result<Fault> parse_fault(std::string_view text, std::optional<Span> now) {
  constexpr std::string_view kShape = "expected CABINET:FAULT@TIME[+DURATION][=SIZE]";
  Fault fault;
  // The cabinet may hold a colon of its own; the fault's words hold none.
  const auto colon = text.rfind(':');
  if (colon == std::string_view::npos || colon == 0) return refuse(text, std::string(kShape));
  fault.cabinet = text.substr(0, colon);
  std::string_view rest = text.substr(colon + 1);

  auto when = cut(rest, '@');
  std::optional<std::string_view> size;
  std::optional<std::string_view> duration;
  if (when) {
    size = cut(*when, '=');
    duration = cut(*when, '+');
  }
  if (const auto early = cut(rest, '=')) {
    if (size) return refuse(text, "the size stands twice");
    size = early;
  }
  if (!when && now) duration = cut(rest, '+');

  const FaultWord* word = word_named(rest);
  if (!word) return refuse(text, unknown_word(rest));
  fault.kind = word->kind;
  if (!when && !now) return refuse(text, std::string(kShape));
  const auto from = when ? parse_span(*when) : now;
  if (!from)
    return refuse(text,
                  "expected a time such as 90s or 1h 30min, not \"" + printable(*when) + "\"");
  fault.from = *from;
  if (duration) {
    const auto lasts = parse_span(*duration);
    if (!lasts)
      return refuse(text, "expected a duration such as 90s or 1h 30min, not \"" +
                              printable(*duration) + "\"");
    fault.until = fault.from + *lasts;
  }
  if (const std::string why = set_size(fault, *word, size); !why.empty()) return refuse(text, why);
  return fault;
}

}  // namespace clutchward::sim
