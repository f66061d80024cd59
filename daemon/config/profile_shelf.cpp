// Reads profiles in the order in which they lean on each other; refuses rings and unknown bases.
#include "config/profile_shelf.h"

#include <optional>

#include "config/profile_reader.h"
#include "config/values.h"

namespace clutchward {
namespace {

// A species, a breed, a keeper's own: three are plenty.
constexpr int kDeepest = 16;

}  // namespace

const Profile* ProfileShelf::base_of(std::size_t index, const Field& based_on,
                                     const RulePatches& site) {
  const auto id = read_id(based_on, "a profile");
  if (!id) return nullptr;
  const bool own = *id == found_[index].id;
  std::optional<std::size_t> base;
  for (std::size_t i = 0; i < (own ? index : found_.size()); ++i)
    if (found_[i].id == *id) base = i;
  if (base && found_[*base].step == Step::waiting && depth_ >= kDeepest) {
    based_on.fault("a profile that leans on at most " + std::to_string(kDeepest) + " others");
    return nullptr;
  }
  if (base) {
    if (found_[*base].step == Step::reading) {
      based_on.fault("a profile that does not lean on this one itself");
      return nullptr;
    }
    return &read_one(*base, site);
  }
  if (const auto ready = ready_.find(*id); ready != ready_.end()) return &ready->second;
  if (own) {
    based_on.fault("another profile, or one of this name in the folders before");
    return nullptr;
  }
  std::vector<std::string> known;
  for (const Found& each : found_)
    if (each.id != found_[index].id) known.push_back(each.id);
  for (const auto& [each, unused] : ready_) known.push_back(each);
  based_on.fault("the id of a profile" + based_on.faults.did_you_mean(*id, known));
  return nullptr;
}

const Profile& ProfileShelf::read_one(std::size_t index, const RulePatches& site) {
  Found& found = found_[index];
  if (found.step != Step::waiting) return found.profile;
  found.step = Step::reading;
  ++depth_;
  const Profile* base = nullptr;
  bool lost = false;
  for (const YamlMember& member : found.field.node.members) {
    if (found.field.node.kind != YamlNode::Kind::map || member.key != "based_on") continue;
    base = base_of(index, {member.node, found.field.path_of("based_on"), found.field.faults}, site);
    lost = base == nullptr;
  }
  // Without the profile under it every key would seem missing: that one fault is told alone.
  if (!lost) found.profile = read_profile(found.id, found.field, site, base);
  found.step = Step::done;
  --depth_;
  return found.profile;
}

std::map<std::string, Profile> ProfileShelf::read(const RulePatches& site) {
  for (std::size_t i = 0; i < found_.size(); ++i) read_one(i, site);
  std::map<std::string, Profile> all = std::move(ready_);
  for (Found& found : found_) all[found.id] = std::move(found.profile);
  found_.clear();
  return all;
}

}  // namespace clutchward
