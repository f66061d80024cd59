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

constexpr std::size_t kChannels = 16;
constexpr std::size_t kSteps = 32;
constexpr std::size_t kRingTopicBytes = 64;
// Two beats of a ring (30 s each) may be lost; longer than ten minutes nobody waits for an answer.
constexpr Span kShortestConfirm = std::chrono::seconds{10};
constexpr Span kLongestConfirm = std::chrono::minutes{10};

EmailChannel read_email(const Field& field) {
  if (field.is_word() && valid_email(field.node.text)) return {field.node.text};
  field.fault("an address such as mara@saltmere.example");
  return {};
}

// Below broker.base; the first level keeps it apart from what else stands there.
bool valid_ring_topic(const std::string& topic) {
  if (topic != "ring" && !topic.starts_with("ring/")) return false;
  return topic.size() <= kRingTopicBytes && topic.back() != '/' &&
         topic.find("//") == std::string::npos && topic.find_first_of("+#") == std::string::npos &&
         !topic.ends_with("/confirm");
}

RingChannel read_ring(const Section& section) {
  RingChannel ring;
  const std::string expected = "ring, or a topic below it such as ring/mara";
  const auto topic = section.find("mqtt");
  ring.topic = read_text(*topic, expected).value_or("ring");
  if (!valid_ring_topic(ring.topic)) topic->fault(expected);
  const auto confirm = section.find("confirm");
  if (!confirm) return ring;
  const auto span = confirm->is_word() ? parse_span(confirm->node.text) : std::nullopt;
  if (span && *span >= kShortestConfirm && *span <= kLongestConfirm)
    ring.confirm = *span;
  else
    confirm->fault("a span of 10s to 10min, such as 90s");
  return ring;
}

// Keys that belong to another kind of channel.
void refuse_foreign(const Section& section, const std::string& kind) {
  const auto refuse = [&](const std::string& key, const std::string& owner) {
    if (!section.has(key)) return;
    section.field().faults.add(section.place(key), section.path(key) + " does not belong to an " +
                                                       kind + "; expected it with " + owner +
                                                       " only");
  };
  for (const std::string& key : webhook_keys()) refuse(key, "webhook");
  if (kind != "mqtt") refuse("confirm", "mqtt");
}

std::optional<ChannelSettings> read_channel(const Field& field) {
  std::vector<std::string> keys = webhook_keys();
  for (const char* const key : {"email", "mqtt", "confirm", "least"}) keys.emplace_back(key);
  const Section section(field, keys);
  if (!section) return std::nullopt;
  std::vector<std::string> kinds;
  for (const char* const kind : {"webhook", "email", "mqtt"})
    if (section.has(kind)) kinds.emplace_back(kind);
  if (kinds.size() != 1) {
    field.refuse(field.path +
                 (kinds.empty() ? " is no channel; expected webhook, email or mqtt"
                                : " has both " + kinds[0] + " and " + kinds[1] +
                                      "; expected one of the two, each channel is an item of its "
                                      "own"));
    return std::nullopt;
  }
  ChannelSettings channel;
  if (const auto least = section.find("least")) channel.least = read_least(*least);
  if (kinds[0] == "webhook") {
    channel.webhook = read_webhook(section);
    if (section.has("confirm"))
      field.faults.add(
          section.place("confirm"),
          section.path("confirm") + " does not belong to a webhook; expected it with mqtt only");
    return channel;
  }
  refuse_foreign(section, kinds[0]);
  if (kinds[0] == "mqtt")
    channel.ring = read_ring(section);
  else
    channel.email = read_email(*section.find("email"));
  return channel;
}

}  // namespace

Priority read_least(const Field& field) {
  constexpr Priority kPriorities[] = {Priority::low, Priority::medium, Priority::high};
  const auto index = read_choice(field, {"low", "medium", "high"});
  return index ? kPriorities[*index] : Priority::low;
}

std::vector<ChannelSettings> read_channels(const Field& field) {
  std::vector<ChannelSettings> channels;
  const std::vector<Field> items = field.items(
      "a list of channels, each { webhook: URL }, { email: ADDRESS } or { mqtt: ring }");
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

void read_notify(const Field& field, const Contacts& contacts, const Rotas& rotas,
                 std::vector<std::string>& notify) {
  const std::vector<Field> items = field.items("a list of contacts such as [mara]");
  if (field.node.kind == YamlNode::Kind::list && items.empty()) {
    field.refuse(field.path + " is empty; expected at least one contact");
  }
  std::vector<std::string> known;
  for (const auto& [id, channels] : contacts) known.push_back(id);
  for (const auto& [id, rota] : rotas) known.push_back(id);
  for (const Field& item : items) {
    const std::optional<std::string> id = read_id(item, "a contact");
    if (!id) continue;
    if (!contacts.contains(*id) && !rotas.contains(*id)) {
      item.fault("the id of a contact" + field.faults.did_you_mean(*id, known));
    } else if (std::find(notify.begin(), notify.end(), *id) != notify.end()) {
      item.refuse(item.path + " names \"" + *id + "\" once more; expected each contact once");
    } else {
      notify.push_back(*id);
    }
  }
}

std::vector<EscalationStep> read_escalation(const Field& field, const Settings& settings) {
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
      read_notify(*notify, settings.contacts, settings.rotas, step.notify);
    }
    told.insert(step.notify.begin(), step.notify.end());
    for (const std::string& id : step.notify)
      if (const auto rota = settings.rotas.find(id); rota != settings.rotas.end())
        for (const auto& day : rota->second.days) told.insert(day.begin(), day.end());
    steps.push_back(std::move(step));
  }
  for (const auto& [id, times] : settings.contact_times)
    for (const AwaySettings& away : times.away) told.insert(away.instead);
  const std::string when = settings.everyone_after
                               ? "told only when everyone is, " +
                                     to_text(*settings.everyone_after) + " after the last step"
                               : "nobody will be told there";
  for (const auto& [id, channels] : settings.contacts) {
    if (!told.contains(id))
      field.warn(field.path + " never names the contact \"" + id + "\": " + when);
  }
  return steps;
}

}  // namespace clutchward
