// Who knows of an alarm, for those who look: not for deciding.
#pragma once

#include <string>
#include <vector>

namespace clutchward {

struct WhoKnows {
  std::vector<std::string> told;    // a channel has taken a message for them
  std::vector<std::string> on_way;  // none has, yet
  bool somebody_left = true;        // passing it on would tell somebody else
  bool operator==(const WhoKnows&) const = default;
};

}  // namespace clutchward
