// Faults of the watch itself: each is told once when it begins and once, quietly, when it is over.
// Faults that cannot be over (a state file set aside) are told once.
#pragma once

#include <map>
#include <string>

#include "base/time.h"
#include "notification/announcer.h"

namespace clutchward {

class ServiceFaults {
 public:
  ServiceFaults(Announcer& announcer, std::string site)
      : announcer_(announcer), site_(std::move(site)) {}

  // `what` in plain words for the first line ("THE STATE CANNOT BE SAVED"), `detail` the sentence.
  void begins(const std::string& what, const std::string& detail, const std::string& to_do,
              Urgency urgency, Moment now);
  void ends(const std::string& what, Moment now);
  void once(const std::string& what, const std::string& detail, const std::string& to_do,
            Urgency urgency, Moment now);
  bool stands(const std::string& what) const { return standing_.contains(what); }
  const std::map<std::string, std::string>& all() const { return standing_; }

 private:
  Announcer& announcer_;
  std::string site_;
  std::map<std::string, std::string> standing_;  // what -> detail
};

}  // namespace clutchward
