// The witnesses' few rules.
#include "checker.h"

namespace clutchward::hostile {

std::string Transitions::take(const AlarmEvent& event) {
  Told& told = told_[name(event.key)];
  const auto wrong = [&](const char* why) {
    return name(event.key) + ": " + std::string(name_of(event.kind)) + ", but " + why;
  };
  switch (event.kind) {
    case EventKind::raised:
      if (told.active) return wrong("it is active");
      if (told.out) return wrong("it is out of service");
      told.active = told.owed = true;
      told.acknowledged = false;
      break;
    case EventKind::returned:
      if (!told.active) return wrong("it is not active");
      told.active = false;
      break;
    case EventKind::acknowledged:
      if (!told.owed) return wrong("nothing is owed");
      if (told.acknowledged) return wrong("it is acknowledged");
      told.acknowledged = true;
      break;
    case EventKind::raised_again:
      if (!told.active) return wrong("it is not active");
      if (!told.acknowledged && !told.snoozed) return wrong("nobody had quietened it");
      told.acknowledged = told.snoozed = false;
      break;
    case EventKind::snoozed:
      if (!told.active) return wrong("it is not active");
      told.snoozed = true;
      break;
    case EventKind::snooze_ended:
      if (!told.snoozed) return wrong("it is not snoozed");
      if (told.active) return wrong("it is active");
      told.snoozed = false;
      break;
    case EventKind::worsened:
      if (!told.active) return wrong("it is not active");
      told.acknowledged = told.snoozed = false;
      break;
    case EventKind::passed_on:
      if (!told.active || told.acknowledged) return wrong("nobody is waiting");
      break;
    case EventKind::reset:
      if (told.active) return wrong("it is active");
      if (!told.owed) return wrong("there is nothing to reset");
      told.owed = told.acknowledged = told.snoozed = false;
      break;
    case EventKind::out_of_service:
      told.active = false;
      told.out = true;
      break;
    case EventKind::in_service:
      if (!told.out) return wrong("it is in service");
      told.out = false;
      break;
  }
  return {};
}

const Told* Transitions::find(const AlarmKey& key) const {
  const auto found = told_.find(name(key));
  return found == told_.end() ? nullptr : &found->second;
}

void DelayOracle::fire(Span until, bool inclusive) {
  if (!due_ || *due_ > until || (*due_ == until && !inclusive)) return;
  const Span at = *due_;
  due_.reset();
  if (condition_) {
    active_ = true;
    say(at, "raised");
  } else if (heard_ && at - *heard_ < rule_.silence) {
    active_ = false;
    say(at, "returned");
  } else {
    waits_ = true;
  }
}

void DelayOracle::reach(Span at) { fire(at, false); }
void DelayOracle::finish(Span at) { fire(at, true); }

void DelayOracle::reading(Span at, Milli value) {
  reach(at);
  heard_ = at;
  const bool now = condition_ ? value > rule_.limit - rule_.deadband : value > rule_.limit;
  if (now && !condition_) {
    condition_ = true;
    waits_ = false;
    due_.reset();
    if (active_) return;
    if (rule_.delay > Span{0}) {
      due_ = at + rule_.delay;
    } else {
      active_ = true;
      say(at, "raised");
    }
  } else if (!now && condition_) {
    condition_ = false;
    due_.reset();
    if (!active_) return;
    if (rule_.clear_delay > Span{0}) {
      due_ = at + rule_.clear_delay;
    } else {
      active_ = false;
      say(at, "returned");
    }
  } else if (!now && waits_) {
    waits_ = active_ = false;
    say(at, "returned");
  }
}

}  // namespace clutchward::hostile
