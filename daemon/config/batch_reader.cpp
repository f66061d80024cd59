// Reads batches and looks up what they refer to.
#include "config/batch_reader.h"

#include <optional>
#include <set>

#include "base/limits.h"
#include "cabinet/batch_record.h"
#include "config/rule_reader.h"
#include "config/values.h"

namespace clutchward {

namespace {

// More eggs than any single machine takes; a slip of the pen beyond.
constexpr int kEggs = 1'000'000;

const char* const kSetAt =
    "a date and time with its offset, such as \"2026-03-01T08:00:00Z\" or "
    "\"2026-03-01T08:00:00+01:00\"";

template <class Map>
std::vector<std::string> keys_of(const Map& map) {
  std::vector<std::string> keys;
  for (const auto& [key, value] : map) keys.push_back(key);
  return keys;
}

// What a batch may refer to, as words.
struct Known {
  std::vector<std::string> profiles;
  std::vector<std::string> cabinets;
};

const Profile* find_profile(const Field& field, const std::string& id, const Settings& so_far,
                            const std::vector<std::string>& known) {
  const auto found = so_far.profiles.find(id);
  if (found != so_far.profiles.end()) return &found->second;
  std::string hint = field.faults.did_you_mean(id, known);
  // A short list helps; hundreds of profiles would not.
  if (hint.empty() && !known.empty() && known.size() <= 12) hint = " (" + one_of(known) + ")";
  field.refuse(field.path + " is " + field.found() + "; expected the id of a profile" + hint);
  return nullptr;
}

void warn_of_unknown_cabinet(const Field& field, const std::string& id, const Settings& so_far,
                             const std::vector<std::string>& known) {
  if (so_far.cabinets.contains(id)) return;
  // A cabinet need not be listed, so only what looks like a slip of the pen is worth a word.
  const std::string hint = field.faults.did_you_mean(id, known);
  if (!hint.empty()) {
    field.warn(field.path + " is " + field.found() + ", which is not among cabinets" + hint);
  }
}

// What may lie below a batch's rules: each of its profile's stages in turn.
std::vector<LayersBelow> layers_below(const Settings& so_far, const Profile* profile) {
  if (profile == nullptr) return {{&so_far.rules}};
  std::vector<LayersBelow> lists = {{&so_far.rules, &profile->rules}};
  for (const Stage& stage : profile->stages) {
    lists.push_back({&so_far.rules, &profile->rules, &stage.rules});
  }
  return lists;
}

void read_set_at(const Field& field, BatchSettings& batch) {
  const std::optional<Wall> set_at =
      field.is_word() ? parse_rfc3339(field.node.text) : std::optional<Wall>();
  if (set_at) {
    batch.set_at = *set_at;
  } else {
    field.fault(kSetAt);
  }
}

std::optional<double> read_stored(const Field& field) {
  const auto millionths = read_days(field);
  if (!millionths) return std::nullopt;
  const double days = static_cast<double>(*millionths) / 1e6;
  if (days <= kStoredDaysMost) return days;
  field.fault("the days between laying and setting, at most 60");
  return std::nullopt;
}

BatchSettings read_batch(const Field& field, const Settings& so_far, const Known& known) {
  BatchSettings batch;
  const Section section(
      field, {"id", "profile", "cabinet", "set_at", "eggs", "recovery", "rules", "stored_days"});
  if (!section) return batch;
  if (const auto id = section.need("id", "an id of the batch's own, such as hens-12")) {
    batch.id = read_id(*id, "a batch").value_or("");
  }
  const Profile* profile = nullptr;
  const auto profile_field = section.need("profile", "the id of a profile");
  if (profile_field) {
    batch.profile = read_id(*profile_field, "a profile").value_or("");
    if (!batch.profile.empty())
      profile = find_profile(*profile_field, batch.profile, so_far, known.profiles);
  }
  if (const auto cabinet = section.need("cabinet", "the id of a cabinet")) {
    batch.cabinet = read_id(*cabinet, "a cabinet").value_or("");
    if (!batch.cabinet.empty())
      warn_of_unknown_cabinet(*cabinet, batch.cabinet, so_far, known.cabinets);
  }
  if (const auto set_at = section.need("set_at", kSetAt)) read_set_at(*set_at, batch);
  if (const auto eggs = section.find("eggs")) {
    batch.eggs = read_whole(*eggs, 1, kEggs).value_or(0);
  }
  if (const auto recovery = section.find("recovery")) {
    batch.recovery = read_span(*recovery, Zero::allowed);
  }
  if (const auto stored = section.find("stored_days")) {
    batch.stored_days = read_stored(*stored);
  }
  // Without its profile a rule cannot be judged; the missing profile has been told.
  if (const auto rules = section.find("rules"); rules && profile != nullptr) {
    batch.rules = read_rules(*rules, Layer::batch, layers_below(so_far, profile));
  }
  return batch;
}

}  // namespace

std::vector<BatchSettings> read_batches(const Field& field, const Settings& so_far) {
  std::vector<BatchSettings> batches;
  std::set<std::string> ids;
  std::map<std::string, std::size_t> by_cabinet;
  const Known known{keys_of(so_far.profiles), keys_of(so_far.cabinets)};
  for (const Field& item : field.items("a list of batches")) {
    batches.push_back(read_batch(item, so_far, known));
    const BatchSettings& batch = batches.back();
    if (!batch.id.empty() && !ids.insert(batch.id).second) {
      item.refuse(item.path + " has the id \"" + printable(batch.id, 60) +
                  "\" of an earlier batch; expected an id of its own");
    }
    if (!batch.cabinet.empty() && ++by_cabinet[batch.cabinet] == limits::kBatchesPerCabinet + 1) {
      item.refuse(item.path + " is one batch too many in its cabinet; expected at most " +
                  std::to_string(limits::kBatchesPerCabinet));
    }
  }
  return batches;
}

}  // namespace clutchward
