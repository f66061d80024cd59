// Deeds by role.
#include "access/role.h"

namespace clutchward {

Role needed_for(Deed deed) {
  switch (deed) {
    case Deed::acknowledge:
    case Deed::snooze:
    case Deed::unsnooze:
    case Deed::reset:
    case Deed::pass_on:
    case Deed::attend:
    case Deed::attended:
    case Deed::turned:
    case Deed::cool:
      return Role::answer;
    default:
      return Role::manage;
  }
}

}  // namespace clutchward
