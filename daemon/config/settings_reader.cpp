// Reads the configuration's top-level keys in the order in which they lean on each other.
#include "config/settings_reader.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

#include "config/batch_reader.h"
#include "config/channel_reader.h"
#include "config/contact_reader.h"
#include "config/page_reader.h"
#include "config/pattern_reader.h"
#include "config/replies_reader.h"
#include "config/rule_reader.h"
#include "config/server_reader.h"
#include "config/values.h"
#include "config/watch_reader.h"
#include "config/zone_check.h"
#include "incubation/humidity.h"

namespace clutchward {

namespace {

const std::vector<std::string> kKeys = {
    "site",       "timezone",     "show",     "broker", "patterns",       "cabinets", "rules",
    "profiles",   "batches",      "contacts", "smtp",   "recovery",       "gather",   "page",
    "escalation", "max_cabinets", "altitude", "people", "everyone_after", "daily",    "beats",
    "history",    "watch",        "replies",  "rota"};

bool has_email(const Contacts& contacts) {
  return std::any_of(contacts.begin(), contacts.end(), [](const auto& contact) {
    return std::any_of(contact.second.begin(), contact.second.end(),
                       [](const ChannelSettings& channel) { return channel.email.has_value(); });
  });
}

// How long minutes and events are kept: a day at least, a hundred years at most.
HistorySettings read_history(const Field& field) {
  HistorySettings history;
  if (field.is_off()) {
    history.keep.reset();
    return history;
  }
  const Section section(field, {"keep"});
  const std::string expected = "a span of 1d to 36500d, such as 400d, or off";
  const auto keep = section.need("keep", expected);
  if (!keep) return history;
  if (keep->is_off()) {
    history.keep.reset();
    return history;
  }
  const auto span = keep->is_word() ? parse_span(keep->node.text) : std::nullopt;
  if (span && *span >= std::chrono::hours{24} && *span <= std::chrono::hours{36500 * 24})
    history.keep = *span;
  else
    keep->fault(expected);
  return history;
}

}  // namespace

SettingsReader::SettingsReader(const YamlNode& root, Faults& faults)
    : section_(Field{root, "", faults}, kKeys) {
  if (const auto rules = section_.find("rules")) {
    settings_.rules = read_rules(*rules, Layer::site, {LayersBelow{}});
  }
}

Settings SettingsReader::read(ProfileShelf profiles) {
  if (section_) {
    read_site();
    read_machines();
    read_profiles(profiles);
  }
  settings_.profiles = profiles.read(settings_.rules);
  if (!section_) return settings_;
  if (const auto batches = section_.find("batches")) {
    settings_.batches = read_batches(*batches, settings_);
  }
  read_people();
  read_rest();
  return std::move(settings_);
}

void SettingsReader::read_site() {
  const std::string expected = "the name of the site";
  if (const auto site = section_.need("site", expected)) {
    settings_.site = read_text(*site, expected, 64).value_or("");
  }
  if (const auto zone = section_.find("timezone")) {
    settings_.timezone = read_timezone(*zone).value_or("UTC");
  }
  if (const auto altitude = section_.find("altitude")) {
    const auto metres = altitude->is_word() ? parse_decimal(altitude->node.text) : std::nullopt;
    if (metres && *metres >= std::llround(kLowestAltitudeM * 1e6) &&
        *metres <= std::llround(kHighestAltitudeM * 1e6))
      settings_.altitude_m = static_cast<double>(*metres) / 1e6;
    else
      altitude->fault("metres above the sea, from -430 to 5000");
  }
  if (const auto show = section_.find("show")) {
    const auto index = read_choice(*show, {"celsius", "fahrenheit"});
    if (index && *index == 1) settings_.show = Show::fahrenheit;
  }
}

void SettingsReader::read_machines() {
  if (const auto broker = section_.need("broker", "a map with url and base")) {
    settings_.broker = read_broker(*broker);
  }
  if (const auto patterns = section_.need("patterns", "a list of topic patterns")) {
    SignalNames signals;
    for (const auto& [id, patch] : settings_.rules)
      if (patch.early.signal) signals.push_back(*patch.early.signal);
    settings_.patterns = read_patterns(*patterns, signals);
  }
  if (const auto most = section_.find("max_cabinets")) {
    settings_.max_cabinets = read_whole(*most, 1, 1'000'000).value_or(settings_.max_cabinets);
  }
  if (const auto cabinets = section_.find("cabinets")) {
    settings_.cabinets = read_cabinets(*cabinets, settings_.max_cabinets);
    settings_.guides = read_guides(*cabinets);
  }
}

void SettingsReader::read_profiles(ProfileShelf& shelf) {
  const auto profiles = section_.find("profiles");
  if (!profiles) return;
  for (const auto& [id, place, value] : profiles->entries("a map from ids to profiles")) {
    if (check_id(id, place, "a profile", value.faults)) shelf.add(id, value);
  }
}

void SettingsReader::read_people() {
  const auto contacts = section_.find("contacts");
  if (contacts) read_contacts(*contacts, settings_);
  if (const auto rota = section_.find("rota")) settings_.rotas = read_rotas(*rota, settings_);
  if (const auto smtp = section_.find("smtp")) settings_.smtp = read_smtp(*smtp);
  if (const auto replies = section_.find("replies")) {
    settings_.replies = read_replies(*replies, settings_.smtp);
    if (!has_email(settings_.contacts))
      replies->warn("no contact has an email: nobody is sent what replies could answer");
  }
  if (has_email(settings_.contacts) && !section_.has("smtp")) {
    contacts->refuse("smtp is missing, and contacts has an email; expected smtp with url and from");
  }
  if (const auto everyone = section_.find("everyone_after")) {
    if (const auto after = read_span_or_off(*everyone)) settings_.everyone_after = after->span;
  }
  if (const auto escalation = section_.find("escalation")) {
    settings_.escalation = read_escalation(*escalation, settings_);
  }
  if (const auto daily = section_.find("daily")) {
    settings_.daily = read_daily(*daily, settings_);
  }
  if (const auto beats = section_.find("beats")) settings_.beats = read_beats(*beats);
  if (const auto watch = section_.find("watch")) {
    settings_.watch = read_watch(*watch, settings_.contacts);
  }
  if (settings_.contacts.empty() || settings_.escalation.empty()) {
    const std::string missing = settings_.contacts.empty() ? "contacts" : "escalation";
    section_.field().warn(missing + " is missing: alarms will be raised, and nobody will be told");
  }
}

void SettingsReader::read_rest() {
  if (const auto recovery = section_.find("recovery")) {
    settings_.recovery = read_span(*recovery, Zero::allowed).value_or(settings_.recovery);
  }
  if (const auto gather = section_.find("gather")) {
    settings_.gather = read_span(*gather, Zero::allowed).value_or(settings_.gather);
  }
  if (const auto history = section_.find("history")) settings_.history = read_history(*history);
  if (const auto page = section_.find("page")) settings_.page = read_page(*page);
  if (const auto people = section_.find("people")) settings_.people = read_page_people(*people);
}

}  // namespace clutchward
