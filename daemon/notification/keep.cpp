// The announcer's state as trees and back: "announcements/<cabinet>", the gathering, the number of
// the last message, the outbox. Names of our own begin with '+', which no id may hold.
#include <algorithm>

#include "notification/state.h"

namespace clutchward {
namespace {

constexpr std::string_view kAnnouncements = "announcements/";
constexpr std::string_view kOutbox = "outbox/";
constexpr std::string_view kSite = "+site";
constexpr std::string_view kGather = "+gather";
constexpr std::string_view kNumber = "+number";
constexpr std::string_view kFloods = "+floods";

std::string key_of(std::string_view name) {
  return std::string(kAnnouncements) + std::string(name);
}

}  // namespace

void Announcer::State::touched(const std::string& cabinet) {
  const auto found = ledgers.find(cabinet);
  if (found == ledgers.end()) return;
  changed.insert(cabinet);
  ++version;
  reschedule(cabinet, found->second);
  if (found->second.empty()) ledgers.erase(found);
}

void Announcer::State::reschedule(const std::string& cabinet, CabinetLedger& ledger) {
  const auto deadline = ledger.next_deadline(steps);
  if (deadline == ledger.deadline) return;
  if (ledger.deadline) deadlines.erase({*ledger.deadline, cabinet});
  if (deadline) deadlines.emplace(*deadline, cabinet);
  ledger.deadline = deadline;
}

void Announcer::State::open_gather(const std::string& cabinet, Moment now) {
  gathering.insert(cabinet);
  if (gather_due) return;
  gather_due = now.steady + settings.gather;
  gather_changed = true;
}

void Announcer::State::close_gather(const std::string& cabinet) {
  gathering.erase(cabinet);
  if (!gathering.empty() || !gather_due) return;
  gather_due.reset();
  gather_changed = true;
}

Episode* Announcer::State::find(const AlarmKey& key) {
  const auto ledger = ledgers.find(key.cabinet);
  if (ledger == ledgers.end()) return nullptr;
  const auto episode = ledger->second.episodes.find(key);
  return episode == ledger->second.episodes.end() ? nullptr : &episode->second;
}

const std::vector<ChannelSettings>& Announcer::State::channels_of(
    const std::string& contact) const {
  static const std::vector<ChannelSettings> none;
  const auto found = settings.contacts.find(contact);
  return found == settings.contacts.end() ? none : found->second;
}

std::vector<Change> Announcer::State::take_changes(Moment now) {
  const kept::Clocks clocks{now.steady, now.wall};
  std::vector<Change> changes;
  if (number_changed) {
    Tree tree = Tree::map();
    tree.add("last", kept::number(static_cast<std::int64_t>(last_number)));
    changes.push_back({key_of(kNumber), std::move(tree)});
  }
  if (gather_changed) {
    Change change{key_of(kGather), std::nullopt};
    if (gather_due) {
      change.value = Tree::map();
      change.value->add("due", Tree(to_rfc3339(clocks.wall_of(*gather_due))));
    }
    changes.push_back(std::move(change));
  }
  if (floods_changed) {
    Change change{key_of(kFloods), std::nullopt};
    Tree tree = Tree::map();
    for (const auto& [contact, flood] : floods)
      if (!flood.announced.empty() || flood.running) tree.add(contact, tree_of(flood, clocks));
    if (!tree.members.empty()) change.value = std::move(tree);
    changes.push_back(std::move(change));
  }
  for (const std::string& cabinet : changed) {
    const std::string key = key_of(cabinet.empty() ? kSite : std::string_view(cabinet));
    const auto found = ledgers.find(cabinet);
    if (found != ledgers.end()) {
      changes.push_back({key, tree_of(found->second, clocks)});
      stored.insert(cabinet);
    } else if (stored.erase(cabinet) != 0) {
      changes.push_back({key, std::nullopt});
    }
  }
  number_changed = gather_changed = floods_changed = false;
  changed.clear();
  outbox.take_changes(clocks, changes);
  return changes;
}

void Announcer::State::restore(const std::vector<std::pair<std::string, Tree>>& kept_trees,
                               Wall saved_wall, Moment now) {
  const kept::Clocks clocks{now.steady, now.wall_trusted ? now.wall : saved_wall};
  for (const auto& [key, tree] : kept_trees) {
    const std::string_view name = key;
    if (name.starts_with(kOutbox)) {
      outbox.restore(key.substr(kOutbox.size()), tree, clocks);
    } else if (name == key_of(kNumber)) {
      const std::int64_t last = kept::number(tree, "last");
      last_number =
          std::max(last_number, static_cast<std::uint64_t>(std::max<std::int64_t>(last, 0)));
    } else if (name == key_of(kGather)) {
      gather_due = kept::steady(tree, "due", clocks);
    } else if (name == key_of(kFloods)) {
      for (const auto& [contact, flood] : tree.members) floods[contact] = flood_of(flood, clocks);
    } else if (name.starts_with(kAnnouncements)) {
      std::string cabinet = key.substr(kAnnouncements.size());
      if (cabinet == kSite) cabinet.clear();
      CabinetLedger ledger = ledger_of(tree, clocks);
      stored.insert(cabinet);
      if (ledger.gathers()) gathering.insert(cabinet);
      if (!ledger.empty()) ledgers[cabinet] = std::move(ledger);
    }
  }
  for (auto& [cabinet, ledger] : ledgers) reschedule(cabinet, ledger);
  find_held();
  last_number = std::max(last_number, outbox.last_number());
  if (gathering.empty())
    gather_due.reset();
  else if (!gather_due)
    gather_due = now.steady;
}

}  // namespace clutchward
