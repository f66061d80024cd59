// Every profile that was found, in the order in which later ones replace earlier ones, until all
// are there and each can be read after the one that it is based on.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "cabinet/profile.h"
#include "config/section.h"

namespace clutchward {

class ProfileShelf {
 public:
  // `ready`: profiles that came before, finished.
  explicit ProfileShelf(std::map<std::string, Profile> ready = {}) : ready_(std::move(ready)) {}

  // `field` is one profile's keys; its node and faults must live until `read`. A later one of the
  // same id replaces an earlier one whole.
  void add(const std::string& id, const Field& field) { found_.push_back({id, field}); }

  // Reads all of them, the replaced ones too, so that their faults are told. `based_on` means the
  // last one of that id; a profile based on its own id extends the one that it replaces.
  std::map<std::string, Profile> read(const RulePatches& site);

 private:
  enum class Step : unsigned char { waiting, reading, done };
  struct Found {
    std::string id;
    Field field;
    Step step = Step::waiting;
    Profile profile{};
  };

  const Profile& read_one(std::size_t index, const RulePatches& site);
  const Profile* base_of(std::size_t index, const Field& based_on, const RulePatches& site);

  std::map<std::string, Profile> ready_;
  std::vector<Found> found_;
  int depth_ = 0;
};

}  // namespace clutchward
