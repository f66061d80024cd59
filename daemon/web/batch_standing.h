// One batch as it stands, for the calendar and the batch pages: its record and its dates.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "cabinet/batch_dates.h"
#include "cabinet/batch_record.h"
#include "cabinet/profile.h"

namespace clutchward {

struct BatchStanding {
  BatchRecord record;
  std::string cabinet_name;
  Phase phase = Phase::planned;
  double day = 0;                           // since setting; until its end
  std::vector<BatchDate> dates;             // none where its profile is no longer known
  std::optional<MassLossWanted> mass_loss;  // wanted
};

}  // namespace clutchward
