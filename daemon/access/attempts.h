// Wrong passphrases and PINs, counted by whom they claim to be and by where they come from. Slows
// guessing down; never shuts anybody out for good, and knows nothing of alarms.
#pragma once

#include <map>
#include <string>

#include "base/time.h"

namespace clutchward {

class Attempts {
 public:
  // How long the next try under any of these keys must wait; 0: go ahead. A try that may go ahead
  // counts as failed until `succeeded` says otherwise, so that a hundred sent at once count too.
  Span begin(const std::string& person, const std::string& address, Steady now);
  void succeeded(const std::string& person, const std::string& address);

 private:
  struct Count {
    int failures = 0;
    Steady not_before{};
    Steady last{};
  };
  Span wait(const std::string& key, Steady now) const;
  void count(const std::string& key, Steady now);
  void make_room(Steady now);

  std::map<std::string, Count> counts_;
};

}  // namespace clutchward
