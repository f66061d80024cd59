// When each person last looked at the page, so that it can say what has happened since. A visit is
// one look however often the page renews itself in it. Knows no clock.
#pragma once

#include <map>
#include <optional>
#include <string>

#include "base/time.h"
#include "base/tree.h"

namespace clutchward {

class Looks {
 public:
  // Notes that the person looks now. Since when they had not looked before this visit; none where
  // no earlier look is known.
  std::optional<Wall> look(const std::string& person, Wall now);

  // What is to be kept under "site/looks", if it has changed since the last call.
  std::optional<Tree> take_changed();
  void restore(const Tree& kept);

 private:
  struct Look {
    Wall seen{};
    std::optional<Wall> before;  // the end of the visit before this one
    Wall kept{};                 // `seen` as it was last kept
  };
  std::map<std::string, Look> looks_;
  bool changed_ = false;
};

}  // namespace clutchward
