// Faults of the watch itself: each is told once when it begins and once, quietly, when it is over.
// Faults that cannot be over (a state file set aside) are told once, and shown for a day.
#pragma once

#include <deque>
#include <map>
#include <set>
#include <string>
#include <vector>

#include "base/time.h"
#include "notification/announcer.h"
#include "web/watch_view.h"

namespace clutchward {

class ServiceFaults {
 public:
  ServiceFaults(Announcer& announcer, std::string site)
      : announcer_(announcer), site_(std::move(site)) {}

  // `what` in plain words for the first line ("THE STATE CANNOT BE SAVED"), `detail` the sentence.
  // `shown` is where the page says so.
  void begins(const std::string& what, const std::string& detail, const std::string& to_do,
              Urgency urgency, Moment now, Shown shown = Shown::as_fault);
  void ends(const std::string& what, Moment now);
  // Ends those whose name begins so and that are not in `still`.
  void ends_but(const std::string& start, const std::set<std::string>& still, Moment now);
  void once(const std::string& what, const std::string& detail, const std::string& to_do,
            Urgency urgency, Moment now);
  bool stands(const std::string& what) const { return standing_.contains(what); }
  // Those that stand, by name.
  const std::map<std::string, WatchFault>& all() const { return standing_; }
  // What the page shows: those that stand, and what was told once within the last day.
  std::vector<WatchFault> view(Moment now) const;

 private:
  struct Told {
    WatchFault fault;
    Steady at;
  };

  void tell(const WatchFault& fault, const std::string& to_do, Urgency urgency, Moment now);

  Announcer& announcer_;
  std::string site_;
  std::map<std::string, WatchFault> standing_;
  std::deque<Told> once_;  // oldest first
};

}  // namespace clutchward
