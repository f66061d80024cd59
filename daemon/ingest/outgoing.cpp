// The order of sending. Events and replies go before pictures: a picture can wait, and the newest
// one replaces it anyway.
#include "ingest/outgoing.h"

#include <algorithm>
#include <functional>
#include <string_view>

#include "base/check.h"

namespace clutchward {
namespace {

std::size_t size_of(const OutgoingMessage& message) {
  return message.topic.size() + message.payload.size();
}

// A copy of each picture would be most of what a cabinet takes. Where two pictures of one cabinet,
// or two topics, ever had the same hash, the newer would come with the next change.
std::size_t hash_of(std::string_view payload) { return std::hash<std::string_view>{}(payload); }

}  // namespace

void Outgoing::add(OutgoingMessage message) {
  queue_bytes_ += size_of(message);
  queue_.push_back({std::move(message), 0});
  while ((queue_.size() > kMessages || queue_bytes_ > kBytes) && queue_under_way_ < queue_.size()) {
    const auto oldest = queue_.begin() + static_cast<std::ptrdiff_t>(queue_under_way_);
    queue_bytes_ -= size_of(oldest->message);
    queue_.erase(oldest);
    ++dropped_;
  }
}

void Outgoing::picture(const std::string& topic, std::string payload, Steady now) {
  forget_rested(now);
  const auto told = told_.find(hash_of(topic));
  if (told != told_.end() && told->second == hash_of(payload)) return;
  const auto [at, is_new] = pictures_.try_emplace(topic);
  Picture& picture = at->second;
  picture.topic = &at->first;
  if (told != told_.end()) {
    picture.sent = told->second;
    told_.erase(told);
  }
  picture.payload = std::move(payload);
  picture.payload.shrink_to_fit();  // grown by doubling, and it may wait for long
  settle(picture, now);
}

// Brings the schedule in line with what the broker has and what it should have.
void Outgoing::settle(Picture& picture, Steady now) {
  const bool differs = !picture.sent || *picture.sent != hash_of(picture.payload);
  if (picture.under_way != 0) return;
  if (differs) {
    schedule(picture, now);
    return;
  }
  unschedule(picture);
  if (!picture.payload.empty()) told_[hash_of(*picture.topic)] = *picture.sent;
  std::string().swap(picture.payload);  // assigning an empty one would keep its memory
  resting_.emplace_back(picture.last.value_or(now) + kPicturePause, *picture.topic);
  forget_rested(now);
}

// A picture that the broker has, and whose pause is over, needs no more than its hash.
void Outgoing::forget_rested(Steady now) {
  while (!resting_.empty() && resting_.front().first <= now) {
    const auto found = pictures_.find(resting_.front().second);
    resting_.pop_front();
    if (found == pictures_.end()) continue;
    const Picture& picture = found->second;
    const bool rested = !picture.last || *picture.last + kPicturePause <= now;
    if (rested && picture.under_way == 0 && !picture.due) pictures_.erase(found);
  }
}

void Outgoing::schedule(Picture& picture, Steady now) {
  if (picture.due) return;
  picture.due = picture.last ? std::max(now, *picture.last + kPicturePause) : now;
  due_.emplace(*picture.due, &picture);
}

void Outgoing::unschedule(Picture& picture) {
  if (!picture.due) return;
  due_.erase({*picture.due, &picture});
  picture.due.reset();
}

std::optional<Sending> Outgoing::next(Steady now) {
  forget_rested(now);
  if (in_flight_ >= kInFlight) return std::nullopt;
  if (queue_under_way_ < queue_.size()) {
    Entry& entry = queue_[queue_under_way_++];
    entry.under_way = ++last_id_;
    ++in_flight_;
    return Sending{entry.under_way, entry.message};
  }
  if (due_.empty() || due_.begin()->first > now) return std::nullopt;
  Picture& picture = *due_.begin()->second;
  unschedule(picture);
  picture.under_way = ++last_id_;
  picture.sent = hash_of(picture.payload);
  picture.last = now;
  pictures_under_way_.emplace(picture.under_way, &picture);
  ++in_flight_;
  return Sending{picture.under_way,
                 OutgoingMessage{*picture.topic, picture.payload, 1, true, std::nullopt}};
}

std::optional<Steady> Outgoing::next_due() const {
  if (in_flight_ >= kInFlight || due_.empty()) return std::nullopt;
  return due_.begin()->first;
}

std::deque<Outgoing::Entry>::iterator Outgoing::entry_under_way(SendId id) {
  return std::find_if(queue_.begin(),
                      queue_.begin() + static_cast<std::ptrdiff_t>(queue_under_way_),
                      [id](const Entry& entry) { return entry.under_way == id; });
}

Outgoing::Picture* Outgoing::picture_under_way(SendId id) {
  const auto found = pictures_under_way_.find(id);
  if (found == pictures_under_way_.end()) return nullptr;
  Picture* picture = found->second;
  pictures_under_way_.erase(found);
  picture->under_way = 0;
  --in_flight_;
  return picture;
}

void Outgoing::confirmed(SendId id, Steady now) {
  if (Picture* picture = picture_under_way(id)) {
    settle(*picture, now);
    return;
  }
  const auto entry = entry_under_way(id);
  if (entry == queue_.begin() + static_cast<std::ptrdiff_t>(queue_under_way_)) return;
  queue_bytes_ -= size_of(entry->message);
  queue_.erase(entry);
  --queue_under_way_;
  --in_flight_;
}

void Outgoing::not_taken(SendId id, Steady now) {
  if (Picture* picture = picture_under_way(id)) {
    picture->sent.reset();
    settle(*picture, now);
    return;
  }
  // Only the one just handed out can be not taken, so the order stays.
  CHECK(queue_under_way_ > 0 && queue_[queue_under_way_ - 1].under_way == id);
  queue_[--queue_under_way_].under_way = 0;
  --in_flight_;
}

std::string Outgoing::refused(SendId id, Steady now) {
  if (Picture* picture = picture_under_way(id)) {
    // Counts as told until it changes, or one a second would be refused for ever.
    std::string topic = *picture->topic;
    ++dropped_;
    settle(*picture, now);
    return topic;
  }
  const auto entry = entry_under_way(id);
  if (entry == queue_.begin() + static_cast<std::ptrdiff_t>(queue_under_way_)) return {};
  std::string topic = entry->message.topic;
  queue_bytes_ -= size_of(entry->message);
  queue_.erase(entry);
  --queue_under_way_;
  --in_flight_;
  ++dropped_;
  return topic;
}

void Outgoing::link_lost(Steady now) {
  for (Entry& entry : queue_) entry.under_way = 0;
  queue_under_way_ = 0;
  in_flight_ = 0;
  pictures_under_way_.clear();
  told_.clear();
  resting_.clear();
  std::erase_if(pictures_,
                [](const auto& each) { return each.second.under_way == 0 && !each.second.due; });
  for (auto& [topic, picture] : pictures_) {
    picture.under_way = 0;
    picture.sent.reset();
    schedule(picture, now);
  }
}

}  // namespace clutchward
