// Visits.
#include "web/looks.h"

#include "base/limits.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

// Away for so long, and what is looked at next is a new visit (our own choice: longer than a walk
// to the cabinet and back).
constexpr Span kAway = 10min;
// Kept no oftener than this: a page that stays open must not wear a card.
constexpr Span kKeep = 5min;

}  // namespace

std::optional<Wall> Looks::look(const std::string& person, Wall now) {
  const auto found = looks_.find(person);
  if (found == looks_.end()) {
    if (looks_.size() >= limits::kSessions) looks_.clear();
    looks_[person] = {now, std::nullopt, now};
    changed_ = true;
    return std::nullopt;
  }
  Look& look = found->second;
  const bool anew = now - look.seen > kAway || now < look.seen;  // or the clock was set back
  if (anew) look.before = look.seen;
  if (anew || now - look.kept > kKeep) {
    look.kept = now;
    changed_ = true;
  }
  look.seen = now;
  return look.before;
}

std::optional<Tree> Looks::take_changed() {
  if (!changed_) return std::nullopt;
  changed_ = false;
  Tree tree = Tree::map();
  for (const auto& [person, look] : looks_) {
    Tree each = Tree::map();
    each.add("seen", to_rfc3339(look.seen));
    if (look.before) each.add("before", to_rfc3339(*look.before));
    tree.add(person, std::move(each));
  }
  return tree;
}

void Looks::restore(const Tree& kept) {
  for (const auto& [person, each] : kept.members) {
    const auto seen = parse_rfc3339(each.get("seen"));
    if (seen && looks_.size() < limits::kSessions)
      looks_[person] = {*seen, parse_rfc3339(each.get("before")), *seen};
  }
}

}  // namespace clutchward
