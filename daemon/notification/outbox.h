// Messages owed and not yet taken: their tries, their back-off, what the other side last said.
// Keeps and hands out; it makes no text and sends nothing.
#pragma once

#include <functional>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "notification/announcer.h"
#include "notification/kept.h"
#include "notification/notification.h"

namespace clutchward {

class Outbox {
 public:
  struct Entry {
    Notification note;
    int tries = 0;
    std::optional<Steady> due;  // none: a channel has it
    std::string last_answer;
    bool failed = false;  // will not work by trying soon
    // The escalation step that gets a message without an alarm if this contact cannot be reached.
    std::optional<std::size_t> next_step;
    bool saved = false;  // take_changes has shown it; before that nothing is handed out
  };

  // `number` orders the messages and is never used twice. When limits::kOutboxEntries is reached,
  // the oldest quiet or low message goes, then the oldest medium one. A high one gives way only to
  // a newer high one of the same alarm to the same contact and channel.
  // It is not handed out before `due`.
  void add(std::uint64_t number, Notification note, std::optional<std::size_t> next_step,
           Steady due);

  // The entry of that id, or null. Valid until the next call.
  const Entry* find(const std::string& id) const;

  // Delivered: gone. Otherwise it waits for its next try.
  void report(const DeliveryReport& report, Moment now);

  // Thrown away by a person. False: no such message.
  bool discard(const std::string& id);

  // Saved messages that are due, high urgency first, then by when they were due. `exists` says
  // whether a contact has that channel; a message to none that exists waits as failed.
  using Exists = std::function<bool(const std::string& contact, int channel)>;
  std::vector<Notification> take_due(Moment now, const Exists& exists);

  std::optional<Steady> next_deadline() const;
  std::vector<Announcer::Waiting> waiting() const;
  // Thrown away because the outbox was full.
  std::uint64_t dropped() const { return dropped_; }

  void take_changes(const kept::Clocks& clocks, std::vector<Change>& changes);
  // False: the tree is no message of ours.
  bool restore(const std::string& id, const Tree& tree, const kept::Clocks& clocks);
  // The highest number in use; 0 where there is none.
  std::uint64_t last_number() const { return entries_.empty() ? 0 : entries_.rbegin()->first; }

 private:
  void insert(std::uint64_t number, Entry entry);
  void erase(std::uint64_t number);
  void set_due(std::uint64_t number, Entry& entry, std::optional<Steady> due);
  bool make_room(const Notification& note);

  std::map<std::uint64_t, Entry> entries_;
  std::map<std::string, std::uint64_t> numbers_;
  std::set<std::pair<Steady, std::uint64_t>> due_;
  std::set<std::pair<int, std::uint64_t>> by_rank_;  // what goes first when full
  std::set<std::uint64_t> changed_;
  std::vector<std::string> gone_;
  std::uint64_t dropped_ = 0;
};

}  // namespace clutchward
