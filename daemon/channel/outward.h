// The outward side: takes messages from the loop, carries each in a worker of its own channel, and
// hands back what became of them. One worker for each channel of each contact, so that one that
// hangs delays no other. Decides nothing: no order among contacts, no retries, no wording.
#pragma once

#include <list>
#include <map>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include "cabinet/settings.h"
#include "channel/carrier.h"
#include "notification/notification.h"

namespace clutchward {

class Outward {
 public:
  // `wall_now` is asked from the workers' threads for the time of each try.
  explicit Outward(std::function<Wall()> wall_now, TimeLimits limits = {});
  ~Outward();  // stop()
  Outward(const Outward&) = delete;
  Outward& operator=(const Outward&) = delete;

  // The channels of a configuration. A channel that stays as it was goes on; one that is new gets a
  // worker; one that is gone or changed ends after the try it is at, and what waited in it is
  // reported try_again. Never waits.
  void configure(const Settings& settings);

  // Takes a message for carrying; never waits. Each message taken is answered by exactly one report
  // of its id (none after stop()). Inside one channel more urgent messages go first.
  void submit(Notification message);

  // Readable while reports wait: for the loop's poll.
  int ready_fd() const;
  // The reports since the last call, oldest first.
  std::vector<DeliveryReport> take_reports();

  // Ends every try and every worker, within about a second; then nothing is taken any more.
  void stop();

 private:
  class Reports;
  class Worker;
  using Place = std::pair<std::string, int>;  // contact, index of the channel

  void forget_ended();

  std::function<Wall()> wall_now_;
  TimeLimits limits_;
  std::unique_ptr<Reports> reports_;
  std::map<Place, std::unique_ptr<Worker>> workers_;
  std::list<std::unique_ptr<Worker>> ending_;
  bool stopped_ = false;
};

}  // namespace clutchward
