// Faults of the watch itself: each is told once when it begins and once, quietly, when it is over.
// One that comes back soon after is told again, and is over from then on only once it has kept away
// for a while: a card that stalls now and then, or two programs with one name at the broker, do not
// ring all night.
// Faults that cannot be over (a state file set aside) are told once, and shown for a day. Both are
// kept over a restart: what stands on rings no second time.
#pragma once

#include <deque>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "base/time.h"
#include "base/tree.h"
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
  // For certain: a fault from before the restart as well.
  void ends(const std::string& what, Moment now);
  // No sign of it. Of one from before the restart that says nothing until there has been time
  // enough to find it again.
  void seems_over(const std::string& what, Moment now);
  // Of those whose name begins so and that are not in `still` there is no sign.
  void ends_but(const std::string& start, const std::set<std::string>& still, Moment now);
  // Ends those that have kept away long enough; to be called now and then.
  void settle(Moment now);
  void once(const std::string& what, const std::string& detail, const std::string& to_do,
            Urgency urgency, Moment now);
  bool stands(const std::string& what) const { return standing_.contains(what); }
  // Those that stand, by name.
  const std::map<std::string, WatchFault>& all() const { return standing_; }
  // What the page shows: those that stand, and what was told once within the last day.
  std::vector<WatchFault> view(Moment now) const;

  static constexpr const char* kKey = "site/faults";
  // What must be durable with the messages, since the last call; none: nothing has changed.
  std::optional<Tree> take_changed();
  // Those of before, as kept: told already. For `grace` none of them is over for want of a sign.
  void restore(const Tree& tree, Moment now, Span grace);

 private:
  struct Told {
    WatchFault fault;
    Steady at;
  };

  void tell(const WatchFault& fault, const std::string& to_do, Urgency urgency, Moment now);
  void over(const std::string& what, Moment now);

  Announcer& announcer_;
  std::string site_;
  std::map<std::string, WatchFault> standing_;
  std::deque<Told> once_;                  // oldest first
  std::map<std::string, Steady> carried_;  // over a restart, not found again yet; held until then
  std::map<std::string, Steady> ended_;    // lately
  // Came back soon after their end; none: there are signs of it.
  std::map<std::string, std::optional<Steady>> away_since_;
  bool changed_ = false;
};

}  // namespace clutchward
