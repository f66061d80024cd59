// A form that was refused, with what was typed into it.
#pragma once

#include <string>

#include "engine/command.h"
#include "web/exchange.h"
#include "web/gate.h"
#include "web/request_check.h"

namespace clutchward {

struct Site;

// Why it was not done, and the same form once more; a page without a form where the deed has none
// that anything is typed into. `back` as for said().
Answer not_done(unsigned status, const std::string& why, const Fields& typed,
                const std::string& back, const Site& site, const Visitor& visitor);

}  // namespace clutchward
