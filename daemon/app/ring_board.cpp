// The pictures of ring topics and what becomes of the messages that ring there.
#include "app/ring_board.h"

#include <algorithm>

#include "base/text.h"
#include "wire/ring_json.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

constexpr std::string_view kConfirm = "/confirm";
// What has no alarm behind it cannot be answered but by confirming it: a fault of the watch rings
// long enough to wake somebody, a test for one beat (our own choice).
constexpr Span kRingsHigh = 10min;
constexpr Span kRingsOther = RingPicture::kBeat;
// Messages of one topic that wait for a confirmation; past it the oldest are tried again later.
constexpr std::size_t kWaiting = 256;
// A ring is shown with its message's id, lest a quick device confirm what has no name yet; but it
// does not wait for a slow disk, nor where the message went before a restart.
constexpr Span kWaitsForId = 1s;

}  // namespace

void RingBoard::configure(const Settings& settings) {
  base_ = settings.broker.base;
  channels_.clear();
  std::map<std::string, Topic> topics;
  for (const auto& [contact, channels] : settings.contacts)
    for (std::size_t i = 0; i < channels.size(); ++i) {
      if (!channels[i].ring) continue;
      channels_[{contact, static_cast<int>(i)}] = *channels[i].ring;
      const std::string& name = channels[i].ring->topic;
      if (const auto known = topics_.find(name);
          known != topics_.end() && topics.count(name) == 0) {
        topics[name] = std::move(known->second);
        topics[name].contacts.clear();
        topics[name].calls.clear();
      }
      topics[name].contacts.emplace_back(contact, channels[i].least);
    }
  for (const auto& [name, topic] : topics_) {
    if (topics.count(name) != 0) continue;
    gone_.push_back(name);
    for (const Waiting& one : topic.waiting) give_back(one, "its ring was taken away");
  }
  topics_ = std::move(topics);
}

// Who waits for a word about it gets one: else it would never be tried again.
void RingBoard::give_back(const Waiting& one, const char* why) {
  if (!one.reported) reports_.push_back({one.id, Outcome::try_again, why, std::nullopt});
}

bool RingBoard::serves(const Notification& message) const {
  return channels_.count({message.contact, message.channel}) != 0;
}

std::vector<std::string> RingBoard::filters() const {
  std::vector<std::string> filters;
  for (const auto& [name, topic] : topics_)
    filters.push_back(base_ + "/" + name + std::string(kConfirm));
  return filters;
}

void RingBoard::take(const Notification& message, Moment now) {
  const auto channel = channels_.find({message.contact, message.channel});
  if (channel == channels_.end()) return;
  Topic& topic = topics_[channel->second.topic];
  std::erase_if(topic.waiting, [&](const Waiting& one) { return one.id == message.id; });
  if (topic.waiting.size() >= kWaiting) {
    give_back(topic.waiting.front(), "too many wait for a confirmation");
    topic.waiting.erase(topic.waiting.begin());
  }
  Waiting one;
  one.id = message.id;
  if (const auto confirm = channel->second.confirm) {
    one.expects = true;
    one.confirm_by = now.steady + *confirm;
  }
  if (message.events.empty()) {
    one.own = RingCall{message.contact, {}, "", message.urgency, message.first_line, now.wall};
    one.own_until = now.steady + (message.urgency == Urgency::high ? kRingsHigh : kRingsOther);
  }
  topic.id = message.id;
  topic.confirmed_at.reset();
  topic.confirmed_by.clear();
  topic.waiting.push_back(std::move(one));
  topic.beat_due = now.steady;
}

void RingBoard::show(const std::vector<RingCall>& calls) {
  for (auto& [name, topic] : topics_) {
    topic.calls.clear();
    for (const RingCall& call : calls)
      for (const auto& [contact, least] : topic.contacts)
        if (contact == call.contact && urgency_of(least) <= call.urgency) {
          topic.calls.push_back(call);
          break;
        }
  }
}

bool RingBoard::confirm(std::string_view topic, std::string_view payload, bool retained,
                        Moment now) {
  if (topics_.empty() || !topic.ends_with(kConfirm) || topic.size() <= base_.size() + 1 ||
      !topic.starts_with(base_))
    return false;
  topic.remove_suffix(kConfirm.size());
  if (topic.size() <= base_.size() + 1) return false;
  topic.remove_prefix(base_.size() + 1);
  const auto found = topics_.find(std::string(topic));
  if (found == topics_.end()) return false;
  const auto confirmation = parse_confirmation(payload);
  if (retained || !confirmation) return true;  // old news, or no word of a device of ours
  Topic& ring = found->second;
  bool any = false;
  for (Waiting& one : ring.waiting) {
    if (!confirmation->id.empty() && confirmation->id != one.id) continue;
    any = true;
    if (one.expects || !one.reported)
      reports_.push_back({one.id, Outcome::delivered, "confirmed", std::nullopt});
    one.expects = false;
    one.reported = true;
    one.confirm_by.reset();
    one.own.reset();
  }
  if (!any && !confirmation->id.empty() && confirmation->id != ring.id) return true;
  ring.confirmed_at = now.wall;
  ring.confirmed_by = confirmation->by;
  settle(ring);
  return true;
}

void RingBoard::forget_published() {
  for (auto& [name, topic] : topics_) topic.shown.reset();
}

// What is reported, expects nothing and does not ring by itself needs no keeping.
void RingBoard::settle(Topic& topic) {
  std::erase_if(topic.waiting,
                [](const Waiting& one) { return one.reported && !one.expects && !one.own; });
}

RingPicture RingBoard::picture_of(const Topic& topic) const {
  RingPicture picture;
  picture.calls = topic.calls;
  for (const Waiting& one : topic.waiting)
    if (one.own) picture.calls.push_back(*one.own);
  picture.id = topic.id;
  picture.confirmed_at = topic.confirmed_at;
  picture.confirmed_by = topic.confirmed_by;
  return picture;
}

bool RingBoard::beat_due(Steady now) const {
  return std::any_of(topics_.begin(), topics_.end(),
                     [&](const auto& each) { return each.second.beat_due <= now; });
}

bool RingBoard::is_held(Topic& topic, Steady now) {
  if (topic.calls.empty()) {
    topic.waits_for_id.reset();
    if (topic.waiting.empty()) topic.id.clear();
    return false;
  }
  if (!topic.id.empty()) return false;
  if (!topic.waits_for_id) topic.waits_for_id = now + kWaitsForId;
  if (*topic.waits_for_id <= now) topic.waits_for_id = Steady{};
  return *topic.waits_for_id != Steady{};
}

std::vector<RingBoard::Publish> RingBoard::take_due(Moment now) {
  std::vector<Publish> due;
  for (const std::string& name : std::exchange(gone_, {})) due.push_back({base_ + "/" + name, ""});
  for (auto& [name, topic] : topics_) {
    for (Waiting& one : topic.waiting)
      if (one.own && one.own_until <= now.steady) one.own.reset();
    settle(topic);
    if (is_held(topic, now.steady)) continue;
    RingPicture picture = picture_of(topic);
    if (topic.shown == picture && topic.beat_due > now.steady) continue;
    topic.shown = picture;
    topic.beat_due = now.steady + RingPicture::kBeat;
    picture.at = now.wall;
    due.push_back({base_ + "/" + name, to_json(picture)});
  }
  return due;
}

std::vector<DeliveryReport> RingBoard::take_reports(bool linked, Steady now) {
  for (auto& [name, topic] : topics_) {
    for (Waiting& one : topic.waiting) {
      if (!one.reported && !linked) {
        one.reported = true;
        one.expects = false;
        one.confirm_by.reset();
        reports_.push_back({one.id, Outcome::try_again, "the broker is away", std::nullopt});
      } else if (!one.reported && !one.expects) {
        one.reported = true;
        reports_.push_back({one.id, Outcome::delivered, "given to the broker", std::nullopt});
      } else if (linked && one.expects && !one.own && topic.calls.empty()) {
        // Answered or over: what the device would confirm does not ring any more.
        one.reported = true;
        one.expects = false;
        one.confirm_by.reset();
        reports_.push_back(
            {one.id, Outcome::delivered, "nobody needs ringing any more", std::nullopt});
      } else if (one.confirm_by && *one.confirm_by <= now) {
        // It goes on ringing, and a late word is still taken.
        one.reported = true;
        one.confirm_by.reset();
        reports_.push_back(
            {one.id, Outcome::failed, "no device has confirmed the ring", std::nullopt});
      }
    }
    settle(topic);
  }
  return std::exchange(reports_, {});
}

std::optional<Steady> RingBoard::next_deadline() const {
  std::optional<Steady> first;
  const auto earlier = [&](Steady due) {
    if (!first || due < *first) first = due;
  };
  for (const auto& [name, topic] : topics_) {
    const bool held = topic.id.empty() && topic.waits_for_id.value_or(Steady{}) != Steady{};
    earlier(held ? *topic.waits_for_id : topic.beat_due);
    for (const Waiting& one : topic.waiting) {
      if (one.confirm_by) earlier(*one.confirm_by);
      if (one.own) earlier(one.own_until);
      if (!one.reported && !one.expects) earlier(Steady{});
    }
  }
  if (!reports_.empty()) earlier(Steady{});
  return first;
}

}  // namespace clutchward
