// Counting deliveries.
#include "app/deliveries.h"

namespace clutchward {
namespace {

// Contact, index and way ("email", "email 2") of each channel of the configuration.
template <class Visit>
void each_channel(const Settings& settings, Visit visit) {
  for (const auto& [contact, channels] : settings.contacts) {
    std::map<std::string, int> of_kind;
    for (int i = 0; i < static_cast<int>(channels.size()); ++i) {
      const std::string kind(channels[static_cast<std::size_t>(i)].kind());
      const int number = ++of_kind[kind];
      visit(contact, i, number == 1 ? kind : kind + " " + std::to_string(number));
    }
  }
}

}  // namespace

void Deliveries::configure(const Settings& before, const Settings& now) {
  const auto channel = [](const Settings& settings, const Place& place) -> const ChannelSettings* {
    const auto contact = settings.contacts.find(place.first);
    if (contact == settings.contacts.end()) return nullptr;
    const auto at = static_cast<std::size_t>(place.second);
    return at < contact->second.size() ? &contact->second[at] : nullptr;
  };
  const auto other = [&](const Place& place) {
    const ChannelSettings* was = channel(before, place);
    const ChannelSettings* is = channel(now, place);
    return was == nullptr || is == nullptr || *was != *is || (is->email && before.smtp != now.smtp);
  };
  std::erase_if(under_way_, [&](const auto& each) { return other(each.second.place); });
  std::erase_if(counts_, [&](const auto& each) { return other(each.first); });
  std::erase_if(failing_since_, [&](const auto& each) { return other(each.first); });
  std::erase_if(took_, [&](const auto& each) { return other(each.first); });
}

void Deliveries::sent(const Notification& message, Steady now) {
  under_way_[message.id] = {{message.contact, message.channel}, now};
}

void Deliveries::note(const DeliveryReport& report, Moment now) {
  const auto found = under_way_.find(report.id);
  if (found == under_way_.end()) return;
  const Place place = found->second.place;
  const Span took = now.steady - found->second.since;
  ChannelWatch& counts = counts_[place];
  under_way_.erase(found);
  if (report.outcome == Outcome::delivered) {
    ++counts.delivered;
    counts.last_delivered = now.wall;
    failing_since_.erase(place);
    took_[place] = took;
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

std::vector<Deliveries::Bad> Deliveries::failing(const Settings& settings, Span for_so_long,
                                                 Steady now) const {
  std::vector<Bad> all;
  each_channel(settings, [&](const std::string& contact, int channel, std::string way) {
    const auto since = failing_since_.find({contact, channel});
    if (since != failing_since_.end() && now - since->second >= for_so_long)
      all.push_back({contact, std::move(way), counts_.at({contact, channel}).trouble});
  });
  return all;
}

std::vector<Deliveries::Bad> Deliveries::working(const Settings& settings) const {
  std::vector<Bad> all;
  each_channel(settings, [&](const std::string& contact, int channel, std::string way) {
    const auto counts = counts_.find({contact, channel});
    if (counts != counts_.end() && counts->second.delivered > 0 && counts->second.trouble.empty())
      all.push_back({contact, std::move(way), ""});
  });
  return all;
}

std::vector<Deliveries::Bad> Deliveries::slow(const Settings& settings, Span so_long) const {
  std::vector<Bad> all;
  each_channel(settings, [&](const std::string& contact, int channel, std::string way) {
    const auto took = took_.find({contact, channel});
    if (took != took_.end() && took->second >= so_long)
      all.push_back({contact, std::move(way), to_text(took->second)});
  });
  return all;
}

}  // namespace clutchward
