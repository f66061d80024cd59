// A time zone as plain data: the list of its offset changes. The core turns wall time into local
// time with it and never asks the system; loop/ reads the rules from the C library.
#pragma once

#include <string>
#include <vector>

#include "base/time.h"

namespace clutchward {

// Whether it can be a name of the time zone database: parts of letters, digits, '_', '-' and '+',
// each starting with a capital letter. That shuts out paths, the database's other files and POSIX
// rules.
bool is_zone_name(std::string_view name);

class Zone {
 public:
  struct Change {
    Wall from;
    std::chrono::seconds offset;  // east of UTC
    std::string abbreviation;
  };

  Zone() = default;  // UTC
  // `changes` in rising order of `from`; the first also holds for all time before it.
  explicit Zone(std::string name, std::vector<Change> changes);

  const std::string& name() const { return name_; }
  std::chrono::seconds offset_at(Wall time) const;
  const std::string& abbreviation_at(Wall time) const;

  // Local wall time as if it were UTC.
  std::chrono::local_time<Span> to_local(Wall time) const;

  // The instant of a local time; one that stands twice (autumn) is the earlier, one that does not
  // exist (spring) is the instant of the change.
  Wall to_wall(std::chrono::local_time<Span> local) const;

  // The next instant strictly after `after` at which local clocks show `time_of_day`.
  Wall next_at(Wall after, Span time_of_day) const;

 private:
  const Change& change_at(Wall time) const;

  std::string name_ = "UTC";
  std::vector<Change> changes_;
};

}  // namespace clutchward
