// Counting deliveries.
#include "app/deliveries.h"

namespace clutchward {

void Deliveries::sent(const Notification& message) {
  under_way_[message.id] = {message.contact, message.channel};
}

void Deliveries::note(const DeliveryReport& report, Moment now) {
  const auto found = under_way_.find(report.id);
  if (found == under_way_.end()) return;
  const Place place = found->second;
  ChannelWatch& counts = counts_[place];
  under_way_.erase(found);
  if (report.outcome == Outcome::delivered) {
    ++counts.delivered;
    counts.last_delivered = now.wall;
    failing_since_.erase(place);
    counts.trouble.clear();
  } else {
    ++counts.failed;
    counts.trouble = report.detail;
    failing_since_.emplace(place, now.steady);
  }
}

std::vector<ChannelWatch> Deliveries::view(const Settings& settings,
                                           const std::vector<Announcer::Waiting>& waiting) const {
  std::vector<ChannelWatch> views;
  for (const auto& [contact, channels] : settings.contacts)
    for (int i = 0; i < static_cast<int>(channels.size()); ++i) {
      const auto found = counts_.find({contact, i});
      ChannelWatch view = found == counts_.end() ? ChannelWatch{} : found->second;
      view.contact = contact;
      view.kind = channels[static_cast<std::size_t>(i)].kind();
      for (const auto& each : waiting)
        if (each.contact == contact && each.channel == i) ++view.waiting;
      views.push_back(std::move(view));
    }
  return views;
}

bool Deliveries::any_channel_works(const Settings& settings) const {
  for (const auto& [contact, channels] : settings.contacts)
    for (int i = 0; i < static_cast<int>(channels.size()); ++i) {
      const auto found = counts_.find({contact, i});
      if (found == counts_.end() || found->second.trouble.empty()) return true;
    }
  return settings.contacts.empty();
}

std::vector<Deliveries::Failing> Deliveries::failing(const Settings& settings, Span for_so_long,
                                                     Steady now) const {
  std::vector<Failing> all;
  for (const auto& [contact, channels] : settings.contacts)
    for (int i = 0; i < static_cast<int>(channels.size()); ++i) {
      const auto since = failing_since_.find({contact, i});
      if (since == failing_since_.end() || now - since->second < for_so_long) continue;
      all.push_back({contact, std::string(channels[static_cast<std::size_t>(i)].kind()),
                     counts_.at({contact, i}).trouble});
    }
  return all;
}

}  // namespace clutchward
