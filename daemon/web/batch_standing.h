// One batch as it stands, for the calendar and the batch pages: its record and its dates.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cabinet/batch_dates.h"
#include "cabinet/batch_record.h"
#include "cabinet/profile.h"

namespace clutchward {

// What one stage wants, from when till when.
struct StageWants {
  std::string name;
  Wall from{};
  Wall to{};
  Milli target = 0;
  std::optional<Milli> target_still;
  std::optional<HumidityBand> humidity;
  bool operator==(const StageWants&) const = default;
};

struct BatchStanding {
  BatchRecord record;
  std::string cabinet_name;
  Phase phase = Phase::planned;
  double day = 0;                           // since setting; until its end
  std::vector<BatchDate> dates;             // none where its profile is no longer known
  std::optional<MassLossWanted> mass_loss;  // wanted
  std::vector<StageWants> stages;  // as far as it has come, and those to come by their days
};

}  // namespace clutchward
