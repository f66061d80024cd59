// One cabinet as it stands now, for everyone outside: picture, page, command line.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "alarm/event.h"
#include "cabinet/batch_dates.h"
#include "cabinet/settings.h"
#include "reading/reading.h"

namespace clutchward {

struct ProbeView {
  std::string probe;
  Quantity quantity = Quantity::temperature;
  Part part = Part::air;
  Milli value = 0;
  std::optional<Wall> at;  // none: a retained message, of unknown age
  bool fresh = false;
  bool left_out = false;  // of the combination, because it is not to be believed
  std::string fault{};    // frozen, silent, implausible, jumping; "" : none known
  bool operator==(const ProbeView&) const = default;
};

struct BatchView {
  std::string id;
  std::string profile;
  std::string name;  // of the profile
  Wall set_at{};
  bool set = false;
  double day = 0;
  double days = 0;
  std::string stage;
  Milli target = 0;
  int eggs = 0;
  bool turning_due = false;
  bool cooling = false;
  Phase phase = Phase::planned;
  int eggs_left = 0;              // 0 also where nobody said how many
  std::optional<BatchDate> next;  // what is to be done next, or overdue
  bool operator==(const BatchView&) const = default;
};

struct CabinetView {
  std::string id;
  std::string name;
  bool no_data = true;
  std::optional<Milli> hottest;  // among the air probes, as last combined
  std::optional<Milli> coldest;
  std::optional<Milli> temperature;  // the two are one where the combination is
  std::optional<Milli> humidity;
  std::optional<Milli> wet_bulb;  // thermodynamic or as the cabinet's psychrometer shows it
  std::optional<Milli> dew_point;
  std::optional<Wall> last_reading;
  Trend trend = Trend::unknown;
  std::optional<Wall> last_turn;
  std::optional<bool> power;
  bool cooling = false;
  std::optional<Wall> attending_until;
  std::string attending_by;
  std::vector<ProbeView> probes;
  std::vector<BatchView> batches;
  std::vector<AlarmView> alarms;  // every one, in the engine's order
  std::string where;              // for somebody who does not know the room; "" : not said
  std::string first_aid;
  bool operator==(const CabinetView&) const = default;
};

}  // namespace clutchward
