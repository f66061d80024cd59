// What a turn promised and may not do before its changes are on the medium: events told, commands
// answered, messages sent. A crash in between repeats a message and never loses one. Where the
// medium is at fault the daemon releases them all the same: they are not worth less for it.
#pragma once

#include <cstdint>
#include <deque>
#include <functional>
#include <string>
#include <utility>
#include <vector>

#include "alarm/event.h"
#include "engine/command.h"
#include "notification/notification.h"

namespace clutchward {

// An answer and the way back to whoever asked. (web/ has an Answer of its own: one name, two types
// in one program would be undefined.)
struct OwedAnswer {
  Reply reply;
  std::function<void(const Reply&)> give;
};

struct Promises {
  std::uint64_t turn = 0;
  std::vector<AlarmEvent> events;
  std::vector<OwedAnswer> answers;
  std::vector<Notification> messages;

  bool empty() const { return events.empty() && answers.empty() && messages.empty(); }
};

class Pending {
 public:
  void add(Promises promises) { waiting_.push_back(std::move(promises)); }

  // The promises of all turns up to `saved`, in order.
  std::vector<Promises> release(std::uint64_t saved) {
    std::vector<Promises> free;
    while (!waiting_.empty() && waiting_.front().turn <= saved) {
      free.push_back(std::move(waiting_.front()));
      waiting_.pop_front();
    }
    return free;
  }

 private:
  std::deque<Promises> waiting_;
};

}  // namespace clutchward
