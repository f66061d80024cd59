// Reads contacts and rotas. What it refuses is what would leave somebody untold without a word: a
// stand-in who is nobody, absences that contradict each other, a rota named like a contact.
#include "config/contact_reader.h"

#include <algorithm>
#include <array>
#include <chrono>
#include <optional>

#include "config/channel_reader.h"
#include "config/day_hours.h"
#include "config/values.h"

namespace clutchward {
namespace {

// A household or a farm, not a town.
constexpr std::size_t kContacts = 256;
constexpr std::size_t kRotas = 64;
constexpr std::size_t kStretches = 32;
constexpr std::size_t kAways = 64;
// Two screens of a phone.
constexpr std::size_t kGuideBytes = 2000;

std::vector<DayHours> read_hours(const Field& field) {
  const std::string expected = "hours such as \"22:00-06:30\" or \"mon-fri 08:00-18:00\"";
  std::vector<Field> fields;
  if (field.is_word())
    fields.push_back(field);
  else
    fields = field.items(expected + ", or a list of them");
  if (field.node.kind == YamlNode::Kind::list && fields.empty())
    field.refuse(field.path + " is empty; expected " + expected);
  if (fields.size() > kStretches) {
    field.refuse(field.path + " has " + std::to_string(fields.size()) +
                 " stretches; expected at most " + std::to_string(kStretches));
    return {};
  }
  std::vector<DayHours> hours;
  for (const Field& item : fields) {
    const auto stretch = item.is_word() ? parse_day_hours(item.node.text) : std::nullopt;
    if (stretch)
      hours.push_back(*stretch);
    else
      item.fault(expected);
  }
  return hours;
}

std::optional<std::chrono::local_days> read_date(const Field& field) {
  const auto date = field.is_word() ? parse_date(field.node.text) : std::nullopt;
  if (!date) field.fault("a date such as 2026-07-12");
  return date;
}

std::optional<AwaySettings> read_away(const Field& field, const std::string& contact,
                                      const std::vector<std::string>& contacts) {
  const Section section(field, {"from", "until", "instead"});
  if (!section) return std::nullopt;
  const std::string expected = "a date such as 2026-07-12";
  const auto from_field = section.need("from", expected);
  const auto until_field = section.need("until", expected);
  const auto from = from_field ? read_date(*from_field) : std::nullopt;
  const auto until = until_field ? read_date(*until_field) : std::nullopt;
  AwaySettings away;
  if (const auto instead = section.find("instead")) {
    const auto id = read_id(*instead, "a contact");
    if (id && *id == contact)
      instead->refuse(instead->path + " names the contact itself; expected somebody else");
    else if (id && std::find(contacts.begin(), contacts.end(), *id) == contacts.end())
      instead->fault("the id of a contact" + field.faults.did_you_mean(*id, contacts));
    else
      away.instead = id.value_or("");
  }
  if (!from || !until) return std::nullopt;
  if (*until < *from) {
    until_field->fault("no date before " + from_field->node.text + ", which is from");
    return std::nullopt;
  }
  away.from = *from;
  away.until = *until;
  return away;
}

std::vector<AwaySettings> read_aways(const Field& field, const std::string& contact,
                                     const std::vector<std::string>& contacts) {
  std::vector<AwaySettings> aways;
  const auto items =
      field.items("a list of absences, each { from: DATE, until: DATE, instead: CONTACT }");
  if (items.size() > kAways) {
    field.refuse(field.path + " has " + std::to_string(items.size()) +
                 " absences; expected at most " + std::to_string(kAways));
    return aways;
  }
  for (const Field& item : items) {
    const auto away = read_away(item, contact, contacts);
    if (!away) continue;
    const bool clash = std::any_of(aways.begin(), aways.end(), [&](const AwaySettings& other) {
      return away->from <= other.until && other.from <= away->until;
    });
    if (clash)
      item.refuse(item.path + " overlaps an earlier one; expected absences apart from each other");
    else
      aways.push_back(*away);
  }
  std::sort(aways.begin(), aways.end(),
            [](const AwaySettings& a, const AwaySettings& b) { return a.from < b.from; });
  return aways;
}

void read_contact(const Field& field, const std::string& id,
                  const std::vector<std::string>& contacts, Settings& settings) {
  if (field.node.kind != YamlNode::Kind::map) {
    settings.contacts[id] = read_channels(field);
    return;
  }
  const Section section(field, {"channels", "hours", "quiet", "least", "away"});
  const std::string expected =
      "a list of channels, each { webhook: URL }, { email: ADDRESS } or { mqtt: ring }";
  auto& channels = settings.contacts[id];
  if (const auto list = section.need("channels", expected)) channels = read_channels(*list);
  ContactTimes times;
  if (const auto hours = section.find("hours")) times.hours = read_hours(*hours);
  if (const auto quiet = section.find("quiet")) times.quiet = read_hours(*quiet);
  if (const auto least = section.find("least")) times.least = read_least(*least);
  if (const auto away = section.find("away")) times.away = read_aways(*away, id, contacts);
  if (times != ContactTimes{}) settings.contact_times[id] = std::move(times);
}

// A mail waits until somebody looks.
void warn_of_mail_alone(const Field& field, Place place, const std::string& id,
                        const std::vector<ChannelSettings>& channels) {
  if (channels.empty() || !std::all_of(channels.begin(), channels.end(),
                                       [](const auto& channel) { return channel.email; }))
    return;
  field.faults.warn(place, field.path_of(id) +
                               " has mail only, which wakes nobody; expected a webhook or mqtt "
                               "beside it");
}

RotaSettings read_rota(const Field& field, const Settings& settings) {
  RotaSettings rota;
  std::uint8_t seen = 0;
  for (const auto& [key, place, value] : field.entries("a map from weekdays to contacts")) {
    if (key == "begins") {
      const auto begins = value.is_word() ? parse_time_of_day(value.node.text) : std::nullopt;
      if (begins)
        rota.begins = *begins;
      else
        value.fault("a time of day such as \"08:00\"");
      continue;
    }
    const auto days = parse_days(key);
    if (!days) {
      field.faults.add(place, "unknown key \"" + printable(key, 60) + "\" in " + field.path +
                                  "; expected weekdays such as mon or mon-fri, or begins");
      continue;
    }
    if ((seen & *days) != 0) {
      field.faults.add(place,
                       value.path + " names a weekday once more; expected each weekday once");
      continue;
    }
    seen |= *days;
    std::vector<std::string> duty;
    read_notify(value, settings.contacts, {}, duty);
    for (std::size_t day = 0; day < 7; ++day)
      if ((*days >> day & 1) != 0) rota.days[day] = duty;
  }
  if (field.node.kind == YamlNode::Kind::map && seen != 0x7f)
    field.warn(field.path + " has nobody on some weekday: whoever comes next is told then");
  return rota;
}

// Lines for people: one or several, no control characters but their ends.
std::string read_guide(const Field& field, const std::string& expected) {
  const auto bad = [](char c) {
    return (static_cast<unsigned char>(c) < 0x20 && c != '\n') || c == 0x7f;
  };
  const std::string& text = field.node.text;
  if (!field.is_word() || text.empty() || std::any_of(text.begin(), text.end(), bad)) {
    field.fault(expected);
    return {};
  }
  if (text.size() > kGuideBytes) {
    field.refuse(field.path + " has " + std::to_string(text.size()) + " bytes; expected at most " +
                 std::to_string(kGuideBytes));
    return {};
  }
  return text.substr(0, text.find_last_not_of('\n') + 1);
}

}  // namespace

void read_contacts(const Field& field, Settings& settings) {
  const auto entries = field.entries("a map from contacts to their channels");
  if (entries.size() > kContacts) {
    field.refuse(field.path + " has " + std::to_string(entries.size()) +
                 " contacts; expected at most " + std::to_string(kContacts));
    return;
  }
  std::vector<std::string> contacts;
  for (const auto& [id, place, value] : entries) contacts.push_back(id);
  for (const auto& [id, place, value] : entries) {
    if (!check_id(id, place, "a contact", field.faults)) continue;
    read_contact(value, id, contacts, settings);
    warn_of_mail_alone(field, place, id, settings.contacts[id]);
  }
}

std::map<std::string, RotaSettings> read_rotas(const Field& field, const Settings& settings) {
  std::map<std::string, RotaSettings> rotas;
  const auto entries = field.entries("a map from rotas to their weekdays");
  if (entries.size() > kRotas) {
    field.refuse(field.path + " has " + std::to_string(entries.size()) +
                 " rotas; expected at most " + std::to_string(kRotas));
    return rotas;
  }
  for (const auto& [id, place, value] : entries) {
    if (!check_id(id, place, "a rota", field.faults)) continue;
    if (settings.contacts.contains(id))
      field.faults.add(place, value.path + " has the id of a contact; expected one of its own");
    else
      rotas[id] = read_rota(value, settings);
  }
  return rotas;
}

std::map<std::string, GuideSettings> read_guides(const Field& cabinets) {
  std::map<std::string, GuideSettings> guides;
  if (cabinets.node.kind != YamlNode::Kind::map) return guides;  // told by who reads the rest
  for (const YamlMember& cabinet : cabinets.node.members) {
    if (cabinet.node.kind != YamlNode::Kind::map) continue;
    const std::string path = cabinets.path_of(cabinet.key);
    for (const YamlMember& member : cabinet.node.members) {
      const Field field{member.node, path + "." + member.key, cabinets.faults};
      if (member.key == "where")
        guides[cabinet.key].where = read_guide(field, "a text that says where things are");
      if (member.key == "first_aid")
        guides[cabinet.key].first_aid = read_guide(field, "a text that says what to do first");
    }
  }
  return guides;
}

}  // namespace clutchward
