// What a signed link leads to, and the links of a message. Looking changes nothing; doing needs the
// cookie of an enrolled phone or the person's PIN.
#pragma once

#include "notification/notification.h"
#include "web/site.h"

namespace clutchward {

// None where there is no page, nothing to answer, or no address that anybody could reach.
MessageLinks links_for(Site& site, const Notification& message, Wall now);

}  // namespace clutchward
