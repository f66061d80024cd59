// When a beat is due, and when it is withheld.
#include "app/beats.h"

#include <algorithm>

namespace clutchward {
namespace {

// No readings at all for as long as one cabinet may be silent (the site's rule `silent`) is no
// life: where probes speak seldom, both are longer.
Span silence_of(const Settings& settings) {
  constexpr Span kUnsaid = std::chrono::minutes{5};  // of the semantics, where that rule is off
  for (const Rule& rule : resolve_rules({&built_in_rules(), &settings.rules}))
    if (rule.id == "silent") return rule.after;
  return kUnsaid;
}

}  // namespace

void Beats::configure(const Settings& settings) {
  heard_ = silence_of(settings);
  if (settings.beats == beats_) return;
  beats_ = settings.beats;
  due_.assign(beats_.size(), Steady{});
}

std::vector<std::size_t> Beats::take_due(const Pulse& pulse, Steady now) {
  if (pulse.readings != readings_) {
    readings_ = pulse.readings;
    heard_at_ = now;
  }
  if (!heard_at_ || now - *heard_at_ > heard_)
    withheld_ = "no readings arrive";
  else if (!pulse.writable)
    withheld_ = "the state cannot be saved";
  else if (!pulse.can_tell)
    withheld_ = "no channel gets a message through";
  else
    withheld_.clear();
  std::vector<std::size_t> due;
  if (!withheld_.empty()) return due;
  for (std::size_t i = 0; i < beats_.size(); ++i) {
    if (due_[i] > now) continue;
    due.push_back(i);
    // From the due time, so that late turns do not add up; from now for the first, and where some
    // were withheld.
    due_[i] = (now - due_[i] < beats_[i].every / 2 ? due_[i] : now) + beats_[i].every;
  }
  return due;
}

std::optional<Steady> Beats::next_deadline() const {
  if (due_.empty() || !withheld_.empty()) return std::nullopt;  // the loop looks again by itself
  return *std::min_element(due_.begin(), due_.end());
}

Settings Beats::channels(const std::string& site) const {
  Settings settings;
  settings.site = site;
  for (const BeatSettings& beat : beats_) {
    if (beat.url.empty()) continue;
    ChannelSettings channel;
    channel.webhook = WebhookChannel{};
    channel.webhook->url = beat.url;
    channel.webhook->method = beat.method;
    if (beat.method != "GET") channel.webhook->body = "{{first_line}}";
    settings.contacts[beat.url].push_back(std::move(channel));
  }
  return settings;
}

}  // namespace clutchward
