// Reads the patterns by which messages find their cabinets, and what patterns cannot say.
#include "config/pattern_reader.h"

#include <algorithm>
#include <optional>
#include <set>

#include "base/limits.h"
#include "config/values.h"
#include "incubation/humidity.h"

namespace clutchward {

namespace {

const std::vector<std::string> kParts = {"air", "egg", "room", "ignore"};
// A probe that is further off than this is broken, not off (10 C; common practice, no published
// source).
constexpr Milli kProbeOffset = 10'000;

// What may be sent: the measured quantities, and on/off quantities by name, the usual ones and
// those that a rule of kind signal names.
struct Sent {
  std::optional<Quantity> quantity;
  std::string signal;
};

Sent read_quantity(const Field& field, const SignalNames& signals) {
  std::vector<std::string> names;
  for (const std::string_view name : kQuantityNames)
    if (name != name_of(Quantity::egg) && name != name_of(Quantity::signal))
      names.emplace_back(name);
  names.insert(names.end(), kSignalNames.begin(), kSignalNames.end());
  for (const std::string& name : signals)
    if (std::find(names.begin(), names.end(), name) == names.end()) names.push_back(name);
  const std::optional<std::size_t> index = read_choice(field, names);
  if (!index) return {};
  if (const auto quantity = quantity_named(names[*index])) return {quantity, {}};
  return {Quantity::signal, names[*index]};
}

Unit read_unit(const Section& section, std::optional<Quantity> quantity) {
  const auto field = section.find("unit");
  if (!field) return Unit::own;
  const std::optional<std::size_t> index = read_choice(*field, {"C", "F"});
  if (!index) return Unit::own;
  if (quantity && !is_degrees(*quantity)) {
    section.field().faults.add(
        section.place("unit"),
        field->path + " does not belong to the quantity " +
            std::string(kQuantityNames[static_cast<std::size_t>(*quantity)]) +
            "; expected it with temperature, wet_bulb or dew_point only");
    return Unit::own;
  }
  return *index == 0 ? Unit::celsius : Unit::fahrenheit;
}

// RFC 6901: empty, or begins with a slash, and '~' only before 0 and 1.
bool valid_pointer(const std::string& text) {
  if (!text.empty() && text[0] != '/') return false;
  for (std::size_t at = text.find('~'); at != std::string::npos; at = text.find('~', at + 1)) {
    if (at + 1 >= text.size() || (text[at + 1] != '0' && text[at + 1] != '1')) return false;
  }
  return true;
}

FieldPattern read_field(const Field& field, const SignalNames& signals) {
  FieldPattern pattern;
  const Section section(field, {"pointer", "probe", "quantity", "unit"});
  if (!section) return pattern;
  const std::string expected = "a JSON pointer such as /outer/temperature";
  if (const auto pointer = section.need("pointer", expected)) {
    if (!pointer->is_word() || pointer->node.text.size() > limits::kTopicBytes ||
        !valid_pointer(pointer->node.text)) {
      pointer->fault(expected);
    } else {
      pattern.pointer = pointer->node.text;
    }
  }
  if (const auto probe = section.find("probe")) {
    pattern.probe = read_id(*probe, "a probe").value_or("");
  }
  std::optional<Quantity> quantity;
  if (const auto said = section.need("quantity", "what is measured, such as temperature")) {
    const Sent sent = read_quantity(*said, signals);
    quantity = sent.quantity;
    pattern.signal = sent.signal;
  }
  pattern.quantity = quantity.value_or(Quantity::temperature);
  pattern.unit = read_unit(section, quantity);
  return pattern;
}

void read_fields(const Field& field, const SignalNames& signals, TopicPattern& pattern) {
  const std::vector<Field> items = field.items("a list of fields, each with pointer and quantity");
  if (field.node.kind == YamlNode::Kind::list && items.empty()) {
    field.refuse(field.path + " is empty; expected at least one field");
  }
  if (items.size() > limits::kPatterns) {
    field.refuse(field.path + " has " + std::to_string(items.size()) +
                 " fields; expected at most " + std::to_string(limits::kPatterns));
    return;
  }
  for (const Field& item : items) pattern.fields.push_back(read_field(item, signals));
}

TopicPattern read_pattern(const Field& field, const SignalNames& signals) {
  TopicPattern pattern;
  const Section section(field, {"topic", "cabinet", "probe", "quantity", "unit", "fields"});
  if (!section) return pattern;
  bool good = true;
  const auto id = [&](std::string_view key, const std::string& noun, std::string& into) {
    const auto found = section.find(key);
    if (!found) return;
    const std::optional<std::string> read = read_id(*found, noun);
    into = read.value_or("");
    good = good && read;
  };
  id("cabinet", "a cabinet", pattern.cabinet);
  id("probe", "a probe", pattern.probe);
  const auto quantity = section.find("quantity");
  const auto fields = section.find("fields");
  if (quantity && fields) {
    good = false;
    section.field().faults.add(section.place("quantity"),
                               field.path +
                                   " has both quantity and fields; expected quantity for a "
                                   "plain payload, fields for JSON");
  } else if (quantity) {
    const Sent sent = read_quantity(*quantity, signals);
    pattern.quantity = sent.quantity;
    pattern.signal = sent.signal;
    pattern.unit = read_unit(section, pattern.quantity);
    good = good && pattern.quantity;
  } else if (fields) {
    read_fields(*fields, signals, pattern);
    if (section.has("unit")) {
      section.field().faults.add(section.place("unit"), section.path("unit") +
                                                            " does not belong beside fields; "
                                                            "expected it in each field");
    }
  } else {
    good = false;
    field.refuse(field.path + " says nothing of the payload; expected quantity or fields");
  }
  // What has been told already need not be told by pattern_fault once more.
  good = good && (fields ? !pattern.fields.empty() : true);
  const std::string expected = "a topic such as farm/{cabinet}/{probe}/temperature";
  if (const auto topic = section.need("topic", expected)) {
    const auto text = read_text(*topic, expected, limits::kTopicBytes);
    pattern.topic = text.value_or("");
    if (text && good) {
      const std::string why = pattern_fault(pattern);
      if (!why.empty()) topic->refuse(topic->path + " cannot work: " + why);
    }
  }
  return pattern;
}

void read_offsets(const Field& field, CabinetSettings& cabinet) {
  for (const auto& [probe, place, value] : field.entries("a map from probes to differences")) {
    if (!check_id(probe, place, "a probe", field.faults)) continue;
    if (const auto offset = read_difference(value, {-kProbeOffset, kProbeOffset})) {
      cabinet.offsets[probe] = *offset;
    }
  }
}

void read_probes(const Field& field, CabinetSettings& cabinet) {
  for (const auto& [probe, place, value] : field.entries("a map from probes to their parts")) {
    if (!check_id(probe, place, "a probe", field.faults)) continue;
    if (const auto part = read_choice(value, kParts)) {
      cabinet.probes[probe] = static_cast<Part>(*part);
    }
  }
}

// The wick's coefficient per kelvin, or the word for how it is aired.
std::optional<double> read_psychrometer(const Field& field) {
  const std::string expected =
      "aspirated, ventilated, still, or its coefficient per kelvin between 0.0005 and 0.0015";
  if (!field.is_word()) {
    field.fault(expected);
    return std::nullopt;
  }
  if (field.node.text == "aspirated") return kAspiratedPerK;
  if (field.node.text == "ventilated") return kNaturallyVentilatedPerK;
  if (field.node.text == "still") return kUnventilatedPerK;
  const auto said = parse_decimal(field.node.text);
  const double coefficient = said ? static_cast<double>(*said) / 1e6 : 0;
  if (coefficient >= kLowestCoefficientPerK && coefficient <= kHighestCoefficientPerK)
    return coefficient;
  field.fault(expected);
  return std::nullopt;
}

// true, false, or what is known of its runs; that there is one is then said with it.
void read_turner(const Field& field, CabinetSettings& cabinet) {
  if (field.node.kind != YamlNode::Kind::map) {
    cabinet.turner = read_flag(field).value_or(false);
    return;
  }
  cabinet.turner = true;
  const Section section(field, {"run"});
  if (!section) return;
  const auto run = section.need("run", "how long a run lasts, such as { from: 20s, to: 90s }");
  if (!run) return;
  const Section ends(*run, {"from", "to"});
  if (!ends) return;
  const auto from = ends.need("from", "a span such as 20s");
  const auto to = ends.need("to", "a span such as 90s");
  const auto shortest = from ? read_span(*from, Zero::allowed) : std::nullopt;
  const auto longest = to ? read_span(*to, Zero::refused) : std::nullopt;
  if (!shortest || !longest) return;
  if (*longest <= *shortest || *longest > std::chrono::hours{1})
    to->fault("more than from, and at most 1h");
  else
    cabinet.turner_run = TurnerRun{*shortest, *longest};
}

CabinetSettings read_cabinet(const Field& field) {
  CabinetSettings cabinet;
  // `where` and `first_aid` are read with the people (contact_reader).
  const Section section(field, {"name", "combine", "offsets", "probes", "machine", "turner",
                                "psychrometer", "only", "where", "first_aid"});
  if (!section) return cabinet;
  if (const auto name = section.find("name")) {
    cabinet.name = read_text(*name, "a name", 64).value_or("");
  }
  if (const auto combine = section.find("combine")) {
    constexpr Combine kCombines[] = {Combine::median, Combine::mean, Combine::worst};
    if (const auto index = read_choice(*combine, {"median", "mean", "worst"})) {
      cabinet.combine = kCombines[*index];
    }
  }
  if (const auto offsets = section.find("offsets")) read_offsets(*offsets, cabinet);
  if (const auto probes = section.find("probes")) read_probes(*probes, cabinet);
  if (const auto machine = section.find("machine")) {
    const auto index = read_choice(*machine, {"forced", "still"});
    if (index && *index == 1) cabinet.machine = MachineType::still;
  }
  if (const auto wick = section.find("psychrometer")) {
    cabinet.psychrometer = read_psychrometer(*wick);
  }
  if (const auto turner = section.find("turner")) read_turner(*turner, cabinet);
  if (const auto only = section.find("only")) {
    for (const Field& item : only->items("a list of probes"))
      if (const auto probe = read_id(item, "a probe")) cabinet.only.push_back(*probe);
    if (only->node.kind == YamlNode::Kind::list && cabinet.only.empty())
      only->refuse(only->path + " names no probe; expected at least one");
  }
  if (cabinet.probes.size() > limits::kProbesPerCabinet ||
      cabinet.offsets.size() > limits::kProbesPerCabinet) {
    field.refuse(field.path + " names more than " + std::to_string(limits::kProbesPerCabinet) +
                 " probes; expected at most so many");
  }
  return cabinet;
}

}  // namespace

std::vector<TopicPattern> read_patterns(const Field& field, const SignalNames& signals) {
  std::vector<TopicPattern> patterns;
  const std::vector<Field> items = field.items("a list of patterns");
  if (field.node.kind == YamlNode::Kind::list && items.empty()) {
    field.refuse(field.path + " is empty; expected at least one pattern");
  }
  if (items.size() > limits::kPatterns) {
    field.refuse(field.path + " has " + std::to_string(items.size()) +
                 " patterns; expected at most " + std::to_string(limits::kPatterns));
    return patterns;
  }
  std::set<std::string> topics;
  for (const Field& item : items) {
    patterns.push_back(read_pattern(item, signals));
    const std::string& topic = patterns.back().topic;
    if (!topic.empty() && !topics.insert(topic).second) {
      item.warn(item.path +
                " has the same topic as an earlier pattern: each message will be read "
                "by both");
    }
  }
  return patterns;
}

std::map<std::string, CabinetSettings> read_cabinets(const Field& field, int most) {
  std::map<std::string, CabinetSettings> cabinets;
  const auto entries = field.entries("a map from cabinets to what a pattern cannot say");
  if (entries.size() > static_cast<std::size_t>(most)) {
    field.refuse(field.path + " has " + std::to_string(entries.size()) +
                 " cabinets; expected at most max_cabinets, which is " + std::to_string(most));
    return cabinets;
  }
  for (const auto& [id, place, value] : entries) {
    if (check_id(id, place, "a cabinet", field.faults)) cabinets[id] = read_cabinet(value);
  }
  return cabinets;
}

}  // namespace clutchward
