// Reads contacts with their channels, and the steps in which they are told.
#include "config/channel_reader.h"

#include <algorithm>
#include <optional>
#include <set>

#include "config/address.h"
#include "config/values.h"
#include "config/webhook_reader.h"

namespace clutchward {

namespace {

// A household or a farm, not a town.
constexpr std::size_t kContacts = 256;
constexpr std::size_t kChannels = 16;
constexpr std::size_t kSteps = 32;

EmailChannel read_email(const Field& field) {
  if (field.is_word() && valid_email(field.node.text)) return {field.node.text};
  field.fault("an address such as mara@saltmere.example");
  return {};
}

std::optional<ChannelSettings> read_channel(const Field& field) {
  std::vector<std::string> keys = webhook_keys();
  keys.emplace_back("email");
  const Section section(field, keys);
  if (!section) return std::nullopt;
  ChannelSettings channel;
  const bool webhook = section.has("webhook");
  if (webhook == section.has("email")) {
    field.refuse(field.path + (webhook ? " has both webhook and email; expected one of the two, "
                                         "each channel is an item of its own"
                                       : " is no channel; expected webhook or email"));
    return std::nullopt;
  }
  if (webhook) {
    channel.webhook = read_webhook(section);
    return channel;
  }
  channel.email = read_email(*section.find("email"));
  for (const std::string& key : webhook_keys()) {
    if (!section.has(key)) continue;
    field.faults.add(section.place(key), section.path(key) +
                                             " does not belong to an email; expected it with "
                                             "webhook only");
  }
  return channel;
}

std::vector<ChannelSettings> read_channels(const Field& field) {
  std::vector<ChannelSettings> channels;
  const std::vector<Field> items =
      field.items("a list of channels, each { webhook: URL } or { email: ADDRESS }");
  if (field.node.kind == YamlNode::Kind::list && items.empty()) {
    field.refuse(field.path + " is empty; expected at least one channel");
  }
  if (items.size() > kChannels) {
    field.refuse(field.path + " has " + std::to_string(items.size()) +
                 " channels; expected at most " + std::to_string(kChannels));
    return channels;
  }
  for (const Field& item : items) {
    if (auto channel = read_channel(item)) channels.push_back(std::move(*channel));
  }
  return channels;
}

}  // namespace

void read_notify(const Field& field, const Contacts& contacts, EscalationStep& step) {
  const std::vector<Field> items = field.items("a list of contacts such as [mara]");
  if (field.node.kind == YamlNode::Kind::list && items.empty()) {
    field.refuse(field.path + " is empty; expected at least one contact");
  }
  std::vector<std::string> known;
  for (const auto& [id, channels] : contacts) known.push_back(id);
  for (const Field& item : items) {
    const std::optional<std::string> id = read_id(item, "a contact");
    if (!id) continue;
    if (!contacts.contains(*id)) {
      item.fault("the id of a contact" + field.faults.did_you_mean(*id, known));
    } else if (std::find(step.notify.begin(), step.notify.end(), *id) != step.notify.end()) {
      item.refuse(item.path + " names \"" + *id + "\" once more; expected each contact once");
    } else {
      step.notify.push_back(*id);
    }
  }
}

Contacts read_contacts(const Field& field) {
  Contacts contacts;
  const auto entries = field.entries("a map from contacts to their channels");
  if (entries.size() > kContacts) {
    field.refuse(field.path + " has " + std::to_string(entries.size()) +
                 " contacts; expected at most " + std::to_string(kContacts));
    return contacts;
  }
  for (const auto& [id, place, value] : entries) {
    if (check_id(id, place, "a contact", field.faults)) contacts[id] = read_channels(value);
  }
  return contacts;
}

std::vector<EscalationStep> read_escalation(const Field& field, const Contacts& contacts,
                                            std::optional<Span> everyone_after) {
  std::vector<EscalationStep> steps;
  const std::vector<Field> items =
      field.items("a list of steps, each { after: SPAN, notify: [CONTACT] }");
  if (items.size() > kSteps) {
    field.refuse(field.path + " has " + std::to_string(items.size()) + " steps; expected at most " +
                 std::to_string(kSteps));
    return steps;
  }
  std::set<std::string> told;
  for (const Field& item : items) {
    const Section section(item, {"after", "notify"});
    if (!section) continue;
    EscalationStep step;
    const auto after_field = section.need("after", "a span such as 0s or 10min");
    const auto after = after_field ? read_span(*after_field, Zero::allowed) : std::nullopt;
    step.after = after.value_or(steps.empty() ? Span{0} : steps.back().after);
    if (after && !steps.empty() && step.after <= steps.back().after) {
      after_field->fault("more than the step before it, which is " + to_text(steps.back().after));
    }
    if (const auto notify = section.need("notify", "a list of contacts such as [mara]")) {
      read_notify(*notify, contacts, step);
    }
    told.insert(step.notify.begin(), step.notify.end());
    steps.push_back(std::move(step));
  }
  const std::string when = everyone_after ? "told only when everyone is, " +
                                                to_text(*everyone_after) + " after the last step"
                                          : "nobody will be told there";
  for (const auto& [id, channels] : contacts) {
    if (!told.contains(id))
      field.warn(field.path + " never names the contact \"" + id + "\": " + when);
  }
  return steps;
}

}  // namespace clutchward
