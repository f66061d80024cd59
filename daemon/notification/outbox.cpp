// The outbox: every message in one map by number, with two orders beside it, by when it is due and
// by who goes first when there is no room. It never drops a message that a person may need at once.
#include "notification/outbox.h"

#include <algorithm>

#include "base/check.h"
#include "base/limits.h"
#include "base/text.h"
#include "notification/message.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

// Back-off between tries: 1 s doubling to 5 min, so that a channel back after a short fault is used
// at once and a dead one is not hammered (our own choice).
constexpr Span kFirstWait = 1s;
constexpr Span kLongestWait = 5min;
// A refusal is tried again as well, since many are mistakes soon mended (a receiver that is being
// set up answers 404); but less and less, down to this seldom.
constexpr Span kFailedWait = 1h;
// The most that a server may ask us to wait: an alarm an hour late is no alarm.
constexpr Span kLongestAsked = 1h;
// No state of ours reaches it; a larger number in a damaged one would leave no room to count on.
constexpr std::int64_t kMostNumber = std::int64_t{1} << 60;
// What is kept of the other side's answer.
constexpr std::size_t kAnswerBytes = 500;

int rank_of(Urgency urgency) {
  switch (urgency) {
    case Urgency::quiet:
    case Urgency::low:
      return 0;
    case Urgency::medium:
      return 1;
    case Urgency::high:
      return 2;
  }
  return 2;
}

Span back_off(int tries, Span longest) {
  Span wait = kFirstWait;
  for (int i = 1; i < tries && wait < longest; ++i) wait *= 2;
  return std::min(wait, longest);
}

Tree tree_of(std::uint64_t number, const Outbox::Entry& entry, const kept::Clocks& clocks) {
  const Notification& note = entry.note;
  Tree tree = Tree::map();
  tree.add("number", kept::number(static_cast<std::int64_t>(number)));
  tree.add("contact", Tree(note.contact));
  tree.add("channel", kept::number(note.channel));
  tree.add("urgency", Tree(std::string(name_of(note.urgency))));
  tree.add("made_at", Tree(to_rfc3339(note.made_at)));
  tree.add("first_line", Tree(note.first_line));
  tree.add("message", Tree(note.message));
  tree.add("episode", Tree(note.episode));
  tree.add("thread", Tree(note.thread));
  tree.add("subject", kept::tree_of(note.subject));
  tree.add("events", kept::tree_of(note.events));
  if (!note.answers.empty()) tree.add("answers", Tree(note.answers));
  if (!note.reason.empty()) tree.add("reason", Tree(std::string(note.reason)));
  tree.add("tries", kept::number(entry.tries));
  if (entry.due) tree.add("due", Tree(to_rfc3339(clocks.wall_of(*entry.due))));
  if (entry.failed) tree.add("failed", Tree("yes"));
  if (!entry.last_answer.empty()) tree.add("last_answer", Tree(entry.last_answer));
  if (entry.next_step)
    tree.add("next_step", kept::number(static_cast<std::int64_t>(*entry.next_step)));
  return tree;
}

// The lasting word of that name; "" where it is none.
std::string_view reason_of(const std::string& word) {
  if (word == kNewsReason) return kNewsReason;
  const auto found = std::find(kReasonNames.begin(), kReasonNames.end(), word);
  return found == kReasonNames.end() ? std::string_view() : *found;
}

}  // namespace

void Outbox::insert(std::uint64_t number, Entry entry) {
  by_rank_.emplace(rank_of(entry.note.urgency), number);
  numbers_.emplace(entry.note.id, number);
  if (entry.due) due_.emplace(*entry.due, number);
  const bool fresh = entries_.emplace(number, std::move(entry)).second;
  CHECK(fresh);
}

void Outbox::erase(std::uint64_t number) {
  const auto found = entries_.find(number);
  CHECK(found != entries_.end());
  Entry& entry = found->second;
  if (entry.saved) gone_.push_back(entry.note.id);
  if (entry.due) due_.erase({*entry.due, number});
  by_rank_.erase({rank_of(entry.note.urgency), number});
  numbers_.erase(entry.note.id);
  changed_.erase(number);
  entries_.erase(found);
}

void Outbox::set_due(std::uint64_t number, Entry& entry, std::optional<Steady> due) {
  if (entry.due) due_.erase({*entry.due, number});
  entry.due = due;
  if (due) due_.emplace(*due, number);
}

bool Outbox::make_room(const Notification& note) {
  if (entries_.size() < limits::kOutboxEntries) return true;
  const int rank = rank_of(note.urgency);
  const auto [lowest, number] = *by_rank_.begin();
  if (lowest < 2) {
    ++dropped_;
    if (lowest > rank) return false;
    erase(number);
    return true;
  }
  if (rank < 2) {
    ++dropped_;
    return false;
  }
  // High ones only: the newer of two about the same alarm says all that the older does. This walks
  // the outbox, which happens only while nothing has got through for thousands of alarms. Where
  // none is found the outbox grows by one; alarms, contacts and channels bound it then.
  for (const auto& [candidate, entry] : entries_) {
    if (entry.note.contact != note.contact || entry.note.channel != note.channel ||
        entry.note.subject != note.subject || note.subject == AlarmKey{})
      continue;
    ++dropped_;
    erase(candidate);
    break;
  }
  return true;
}

void Outbox::add(std::uint64_t number, Notification note, std::optional<std::size_t> next_step,
                 Steady due) {
  if (!make_room(note)) return;
  Entry entry;
  entry.note = std::move(note);
  entry.due = due;
  entry.next_step = next_step;
  insert(number, std::move(entry));
  changed_.insert(number);
}

const Outbox::Entry* Outbox::find(const std::string& id) const {
  const auto found = numbers_.find(id);
  return found == numbers_.end() ? nullptr : &entries_.at(found->second);
}

void Outbox::report(const DeliveryReport& report, Moment now) {
  const auto found = numbers_.find(report.id);
  if (found == numbers_.end()) return;
  const std::uint64_t number = found->second;
  if (report.outcome == Outcome::delivered) {
    erase(number);
    return;
  }
  Entry& entry = entries_.at(number);
  if (entry.due) return;  // it is already waiting: a second word on the same try
  ++entry.tries;
  entry.last_answer = printable(report.detail, kAnswerBytes);
  entry.failed = report.outcome == Outcome::failed;
  Span wait = back_off(entry.tries, entry.failed ? kFailedWait : kLongestWait);
  if (report.retry_after) wait = std::clamp(*report.retry_after, kFirstWait, kLongestAsked);
  set_due(number, entry, now.steady + wait);
  changed_.insert(number);
}

bool Outbox::discard(const std::string& id) {
  const auto found = numbers_.find(id);
  if (found == numbers_.end()) return false;
  erase(found->second);
  return true;
}

std::vector<Notification> Outbox::take_due(Moment now, const Exists& exists) {
  std::vector<std::pair<Steady, std::uint64_t>> ready;
  for (auto due = due_.begin(); due != due_.end() && due->first <= now.steady; ++due)
    if (entries_.at(due->second).saved) ready.push_back(*due);
  std::stable_sort(ready.begin(), ready.end(), [&](const auto& one, const auto& other) {
    const bool high = entries_.at(one.second).note.urgency == Urgency::high;
    return high && entries_.at(other.second).note.urgency != Urgency::high;
  });
  std::vector<Notification> notes;
  for (const auto& [due, number] : ready) {
    Entry& entry = entries_.at(number);
    if (exists(entry.note.contact, entry.note.channel)) {
      set_due(number, entry, std::nullopt);
      notes.push_back(entry.note);
      continue;
    }
    entry.failed = true;
    entry.last_answer = "the configuration has no such contact or channel";
    set_due(number, entry, now.steady + kFailedWait);
    changed_.insert(number);
  }
  return notes;
}

std::optional<Steady> Outbox::next_deadline() const {
  return due_.empty() ? std::nullopt : std::optional(due_.begin()->first);
}

std::vector<Announcer::Waiting> Outbox::waiting() const {
  std::vector<Announcer::Waiting> list;
  list.reserve(entries_.size());
  for (const auto& [number, entry] : entries_)
    list.push_back({entry.note.id, entry.note.contact, entry.note.channel, entry.tries,
                    entry.last_answer, entry.note.made_at});
  return list;
}

void Outbox::take_changes(const kept::Clocks& clocks, std::vector<Change>& changes) {
  for (const std::string& id : gone_) changes.push_back({"outbox/" + id, std::nullopt});
  gone_.clear();
  for (const std::uint64_t number : changed_) {
    Entry& entry = entries_.at(number);
    entry.saved = true;
    changes.push_back({"outbox/" + entry.note.id, tree_of(number, entry, clocks)});
  }
  changed_.clear();
}

bool Outbox::restore(const std::string& id, const Tree& tree, const kept::Clocks& clocks) {
  const auto made_at = kept::wall(tree, "made_at");
  const auto urgency = kept::word(tree, "urgency", kUrgencyNames);
  const std::int64_t number = kept::number(tree, "number");
  Entry entry;
  entry.note.contact = kept::text(tree, "contact");
  entry.note.channel = static_cast<int>(kept::number(tree, "channel"));
  if (id.empty() || !made_at || !urgency || number <= 0 || number > kMostNumber ||
      entry.note.contact.empty() || entries_.count(static_cast<std::uint64_t>(number)) != 0 ||
      numbers_.count(id) != 0)
    return false;
  entry.note.id = id;
  entry.note.made_at = *made_at;
  entry.note.urgency = static_cast<Urgency>(*urgency);
  entry.note.first_line = kept::text(tree, "first_line");
  entry.note.message = kept::text(tree, "message");
  entry.note.episode = kept::text(tree, "episode");
  entry.note.thread = kept::text(tree, "thread");
  entry.note.answers = kept::text(tree, "answers");
  entry.note.reason = reason_of(kept::text(tree, "reason"));
  if (const Tree* subject = tree.find("subject")) entry.note.subject = kept::key_of(*subject);
  entry.note.events = kept::events_of(tree, "events");
  entry.tries = static_cast<int>(std::clamp<std::int64_t>(kept::number(tree, "tries"), 0, 1 << 30));
  // A message that a channel had when the watch ended goes out again: twice rather than never.
  entry.due = kept::steady(tree, "due", clocks).value_or(clocks.steady);
  entry.failed = kept::yes(tree, "failed");
  entry.last_answer = kept::text(tree, "last_answer");
  if (const std::int64_t step = kept::number(tree, "next_step", -1); step >= 0)
    entry.next_step = static_cast<std::size_t>(step);
  entry.saved = true;
  insert(static_cast<std::uint64_t>(number), std::move(entry));
  return true;
}

}  // namespace clutchward
