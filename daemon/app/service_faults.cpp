// Telling the faults of the watch itself.
#include "app/service_faults.h"

#include <algorithm>
#include <utility>

#include "app/log.h"
#include "base/text.h"

namespace clutchward {
namespace {

// What was told once is shown for a day: whoever looks each morning has seen it.
constexpr Span kOnceShown = std::chrono::hours{24};
constexpr std::size_t kOnce = 20;
// One that comes back within this keeps away for as long before it is over (our own choice).
constexpr Span kKeepsAway = std::chrono::minutes{10};

// The first line of a message is plain ASCII and at most 80 characters (alarm-semantics, section
// 8).
std::string first_line_of(const std::string& what, const std::string& site,
                          const std::string& to_do) {
  std::string line = to_ascii(what + " at " + site + ". " + to_do);
  if (line.size() > 80) line = to_ascii(what + ". " + to_do);
  if (line.size() > 80) line.resize(80);
  return line;
}

}  // namespace

void ServiceFaults::tell(const WatchFault& fault, const std::string& to_do, Urgency urgency,
                         Moment now) {
  spdlog::error("{}: {}", fault.what, printable(fault.detail, 500));
  announcer_.tell_service(first_line_of(fault.what, site_, to_do),
                          fault.detail + "\n\n" + to_do + ".", urgency, now);
}

void ServiceFaults::once(const std::string& what, const std::string& detail,
                         const std::string& to_do, Urgency urgency, Moment now) {
  once_.push_back({{what, detail, now.wall, Shown::as_fault, true}, now.steady});
  if (once_.size() > kOnce) once_.pop_front();
  changed_ = true;
  tell(once_.back().fault, to_do, urgency, now);
}

void ServiceFaults::begins(const std::string& what, const std::string& detail,
                           const std::string& to_do, Urgency urgency, Moment now, Shown shown) {
  const auto [place, fresh] = standing_.try_emplace(what);
  carried_.erase(what);
  place->second.shown = shown;
  if (const auto held = away_since_.find(what); held != away_since_.end()) held->second.reset();
  if (!fresh) return;
  if (ended_.contains(what)) away_since_[what].reset();
  changed_ = true;
  place->second = {what, detail, now.wall, shown};
  tell(place->second, to_do, urgency, now);
}

void ServiceFaults::ends(const std::string& what, Moment now) {
  const auto held = away_since_.find(what);
  if (held == away_since_.end())
    over(what, now);
  else if (!held->second)
    held->second = now.steady;
}

void ServiceFaults::settle(Moment now) {
  std::erase_if(ended_, [&](const auto& each) { return now.steady - each.second >= kKeepsAway; });
  std::vector<std::string> gone;
  for (const auto& [what, since] : away_since_)
    if (since && now.steady - *since >= kKeepsAway) gone.push_back(what);
  for (const std::string& what : gone) {
    away_since_.erase(what);
    over(what, now);
  }
}

void ServiceFaults::over(const std::string& what, Moment now) {
  if (standing_.erase(what) == 0) return;
  carried_.erase(what);
  ended_[what] = now.steady;
  changed_ = true;
  spdlog::info("over: {}", what);
  announcer_.tell_service(first_line_of("OVER: " + what, site_, "Nothing to do"),
                          "This fault of the watch is over: " + what + ".", Urgency::quiet, now);
}

void ServiceFaults::seems_over(const std::string& what, Moment now) {
  const auto held = carried_.find(what);
  if (held == carried_.end() || now.steady >= held->second) ends(what, now);
}

void ServiceFaults::ends_but(const std::string& start, const std::set<std::string>& still,
                             Moment now) {
  std::vector<std::string> over;
  for (const auto& [what, fault] : standing_)
    if (what.starts_with(start) && !still.contains(what)) over.push_back(what);
  for (const std::string& what : over) seems_over(what, now);
}

std::vector<WatchFault> ServiceFaults::view(Moment now) const {
  std::vector<WatchFault> faults;
  for (const auto& [what, fault] : standing_) faults.push_back(fault);
  for (const Told& told : once_)
    if (now.steady - told.at < kOnceShown) faults.push_back(told.fault);
  return faults;
}

namespace {

Tree tree_of(const WatchFault& fault, bool once) {
  Tree tree = Tree::map();
  tree.add("what", Tree(fault.what));
  tree.add("detail", Tree(fault.detail));
  tree.add("since", Tree(to_rfc3339(fault.since)));
  if (once) tree.add("once", Tree("yes"));
  return tree;
}

}  // namespace

std::optional<Tree> ServiceFaults::take_changed() {
  if (!std::exchange(changed_, false)) return std::nullopt;
  Tree list = Tree::list();
  for (const auto& [what, fault] : standing_) list.add(tree_of(fault, false));
  for (const Told& told : once_) list.add(tree_of(told.fault, true));
  Tree tree = Tree::map();
  tree.add("faults", std::move(list));
  return tree;
}

void ServiceFaults::restore(const Tree& tree, Moment now, Span grace) {
  const Tree* list = tree.find("faults");
  if (list == nullptr) return;
  for (const auto& [unused, each] : list->members) {
    WatchFault fault{std::string(each.get("what")), std::string(each.get("detail")),
                     parse_rfc3339(each.get("since")).value_or(now.wall),
                     Shown::as_fault};  // elsewhere it is not known until it is found again
    if (fault.what.empty()) continue;
    if (each.get("once") == "yes") {
      fault.once = true;
      // A day from when it was told; where the clock is not set, from now on.
      const Span past = now.wall_trusted ? std::max(now.wall - fault.since, Span{0}) : Span{0};
      if (past < kOnceShown && once_.size() < kOnce)
        once_.push_back({std::move(fault), now.steady - past});
      continue;
    }
    carried_[fault.what] = now.steady + grace;
    standing_.emplace(fault.what, std::move(fault));
  }
}

}  // namespace clutchward
