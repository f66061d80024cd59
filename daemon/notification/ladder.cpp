// The order of alarms among themselves. It refuses to leave two of them equal: messages must not
// depend on chance.
#include "notification/ladder.h"

namespace clutchward {

bool compares(RuleKind kind) { return kind == RuleKind::above || kind == RuleKind::below; }

namespace {

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

Milli beyond_limit(const AlarmView& view) {
  if (!view.value || !view.limit) return 0;
  if (!compares(view.kind) && view.kind != RuleKind::spread) return 0;
  return view.kind == RuleKind::below ? *view.limit - *view.value : *view.value - *view.limit;
}

bool worse(const AlarmView& one, const AlarmView& other) { return worse_apart(one, 0, other, 0); }

bool worse_apart(const AlarmView& one, Milli beyond, const AlarmView& other, Milli other_beyond) {
  if (one.priority != other.priority) return one.priority > other.priority;
  if (rank(one) != rank(other)) return rank(one) < rank(other);
  if (one.quantity != other.quantity) return one.quantity < other.quantity;
  if (beyond != other_beyond) return beyond > other_beyond;
  if (one.kind == other.kind && one.limit && other.limit && *one.limit != *other.limit)
    return one.kind == RuleKind::below ? *one.limit < *other.limit : *one.limit > *other.limit;
  return one.key < other.key;
}

}  // namespace clutchward
