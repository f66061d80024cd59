// People in a replay: whom the announcer would have told over the recorded time, every channel
// taking every message at once. Sends nothing.
#pragma once

#include <iosfwd>
#include <vector>

#include "app/told_book.h"
#include "base/zone.h"
#include "cabinet/settings.h"
#include "engine/engine.h"
#include "notification/announcer.h"

namespace clutchward {

class ReplayPeople {
 public:
  // Writes one message a line to `output` and who was told to `rows`: where there are none, not.
  // Both must outlive it.
  ReplayPeople(const Settings& settings, const Zone& zone, std::ostream* output, HistoryRows* rows)
      : settings_(settings), announcer_(settings, zone), output_(output), rows_(rows) {}

  // What the engine has decided at `now`.
  void tell(Engine& engine, const std::vector<AlarmEvent>& events, Moment now);
  // What falls due by itself before `until`: reminders, steps, the end of quiet hours.
  std::optional<Steady> next_deadline() const { return announcer_.next_deadline(); }
  void advance(const Engine& engine, Moment now);

 private:
  void send(const Engine& engine, Moment now);

  const Settings& settings_;
  Announcer announcer_;
  std::ostream* output_;
  HistoryRows* rows_;
  ToldBook told_;
};

}  // namespace clutchward
