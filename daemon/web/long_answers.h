// What tells of every cabinet or batch there is: pictures, figures, batches, calendar. Made a part
// a turn (slices.h), however many there are.
#pragma once

#include <functional>
#include <string>

#include "web/exchange.h"
#include "web/gate.h"

namespace clutchward {

struct BatchStanding;
struct Site;

// A batch as JSON: its record, phase, day, dates and mass loss.
std::string to_json(const BatchStanding& batch);

void get_cabinets(Site& site, const Request& request, const Visitor& visitor,
                  const Respond& respond);
// Running batches and planned ones; `/api/batches/all` the ended ones as well.
void get_batches(Site& site, const Request& request, const Visitor& visitor,
                 const Respond& respond);
void get_metrics(Site& site, const Request& request, const Visitor& visitor,
                 const Respond& respond);
void get_calendar(Site& site, const Request& request, const Visitor& visitor,
                  const Respond& respond);

// Every batch that is still there when its turn comes, `each` a part at a time; then `done`.
void for_every_batch(Site& site, const std::function<void(BatchStanding)>& each,
                     const std::function<void()>& done);

}  // namespace clutchward
