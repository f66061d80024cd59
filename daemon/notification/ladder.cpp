// The order of alarms among themselves. It refuses to leave two of them equal: messages must not
// depend on chance.
#include "notification/ladder.h"

namespace clutchward {
namespace {

bool compares(RuleKind kind) { return kind == RuleKind::above || kind == RuleKind::below; }

int rank(const AlarmView& view) {
  if (compares(view.kind) && view.quantity == Quantity::temperature)
    return view.kind == RuleKind::above ? 0 : 1;
  switch (view.kind) {
    case RuleKind::broker:
      return 2;
    case RuleKind::silent:
      return 3;
    case RuleKind::power:
      return 4;
    case RuleKind::turning:
      return 5;
    case RuleKind::still:
      return 6;
    case RuleKind::above:
    case RuleKind::below:
      return 7;
    case RuleKind::spread:
      return 8;
    case RuleKind::all_silent:
      return 2;
    case RuleKind::lid:
    case RuleKind::rate:
    case RuleKind::trend:
      return 9;
    case RuleKind::cooling:
    case RuleKind::signal:
    case RuleKind::probe:
      return 10;
  }
  return 11;
}

}  // namespace

bool rings(const AlarmView& view) {
  return view.active && !view.acknowledged && !view.snoozed_until &&
         view.state != AlarmState::out_of_service;
}

bool same_ladder(const AlarmView& one, const AlarmView& other) {
  return one.key.cabinet == other.key.cabinet && compares(one.kind) && one.kind == other.kind &&
         one.quantity == Quantity::temperature && other.quantity == Quantity::temperature;
}

bool worse(const AlarmView& one, const AlarmView& other) {
  if (one.priority != other.priority) return one.priority > other.priority;
  if (rank(one) != rank(other)) return rank(one) < rank(other);
  if (one.kind == other.kind && one.limit && other.limit && *one.limit != *other.limit)
    return one.kind == RuleKind::below ? *one.limit < *other.limit : *one.limit > *other.limit;
  return one.key < other.key;
}

}  // namespace clutchward
