// Who was told: of each message that goes to a channel one row for the history, and when it was
// delivered. It decides nothing; a message that is tried again stays one row.
#pragma once

#include <map>
#include <string>
#include <string_view>
#include <utility>

#include "notification/notification.h"
#include "store/history_file.h"

namespace clutchward {

class ToldBook {
 public:
  // A channel of that kind has the message now.
  void sent(const Notification& message, std::string_view way, HistoryRows& rows);
  void report(const DeliveryReport& report, Wall now, HistoryRows& rows);

 private:
  using Key = std::pair<Wall, std::uint64_t>;  // when it was made, its number
  std::map<std::string, Key> under_way_;       // by id
  // By contact: the last message of which the alarms stand in a row already.
  std::map<std::string, std::pair<Wall, std::string>> last_;
};

}  // namespace clutchward
