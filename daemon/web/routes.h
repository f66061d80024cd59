// What is served where: one table, in routes.cpp. Knows requests and answers as values only.
#pragma once

#include "web/exchange.h"
#include "web/site.h"

namespace clutchward {

// Answers `request` through `respond`, exactly once: within the call, or later where a command's
// outcome has to become durable or a passphrase be looked at first. What it does not serve is
// answered 404, 405 or 403.
void answer(Site& site, const Request& request, const Respond& respond);

}  // namespace clutchward
