// Who can be told now: hours, quiet hours, absences and rotas at one instant. Answers questions of
// one moment; it keeps nothing and tells nobody.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "base/zone.h"
#include "cabinet/settings.h"

namespace clutchward {

enum class Presence : std::uint8_t {
  there,
  quiet,  // high alarms only
  off,    // outside the hours
  away
};

struct Whereabouts {
  Presence presence = Presence::there;
  // When that may change: the end of quiet hours, the beginning of hours, the day after the
  // absence.
  std::optional<Wall> until;
  bool operator==(const Whereabouts&) const = default;
};

// Whom a step calls.
struct Called {
  std::vector<std::string> now;
  std::vector<std::string> later;  // in quiet hours, or off: told when that ends, if it is still so
  bool nobody = false;             // a step was called, and none of its contacts can be told now

  void add(const Called& more);
};

// While nobody vouches for the wall clock everyone counts as there, and a rota is all of its
// people: a wrong clock must not keep an alarm from anybody.
class Duty {
 public:
  // `settings` and `zone` must outlive it.
  Duty(const Settings& settings, const Zone& zone, Moment now)
      : settings_(settings), zone_(zone), now_(now.wall), trusted_(now.wall_trusted) {}

  Whereabouts standing(const std::string& contact) const;
  // The contacts behind ids of contacts and rotas: who is on duty, stand-ins in place of those who
  // are away. Each once; nobody who is away himself.
  std::vector<std::string> people(const std::vector<std::string>& ids) const;
  // Whether any of the contact's channels takes alarms of that priority, and the contact hears it.
  bool hears(const std::string& contact, Priority priority) const;
  // Whether an alarm of that priority may be told to the contact now.
  bool can_be_told(const std::string& contact, Priority priority) const;
  // Whom a list of ids calls for an alarm of that priority. `all`: a high one goes to those who are
  // off as well.
  Called call(const std::vector<std::string>& ids, Priority priority, bool all = false) const;
  // The last resort: every contact who is not away; where there is none, every contact.
  std::vector<std::string> everybody() const;
  // For whom the contact stands in now: (who, until which day).
  struct Instead {
    std::string contact;
    std::chrono::local_days until;
  };
  std::vector<Instead> stands_in_for(const std::string& contact) const;

 private:
  const ContactTimes* times_of(const std::string& contact) const;
  const AwaySettings* away(const std::string& contact) const;

  const Settings& settings_;
  const Zone& zone_;
  Wall now_;
  bool trusted_;
};

// The instant at which `hours` that hold at `at` end, those that follow without a gap included;
// none where they do not hold then.
std::optional<Wall> end_of(const std::vector<DayHours>& hours, Wall at, const Zone& zone);
// The first instant after `at` at which some of `hours` begin.
std::optional<Wall> next_of(const std::vector<DayHours>& hours, Wall at, const Zone& zone);

}  // namespace clutchward
