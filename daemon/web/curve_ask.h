// What to ask the history for: a cabinet's last day, a batch's whole life, or what a program names.
#pragma once

#include <functional>
#include <optional>
#include <string>

#include "web/curve_view.h"

namespace clutchward {

struct Site;

// Views whose curve is still to come.
CurveView day_of(const CabinetView& cabinet, Wall now);
// None where it is not set yet.
std::optional<CurveView> life_of(const Site& site, const BatchStanding& batch, Wall now);

// Asks for it, or takes it from what is ready; `done` gets the view with its curve, or without one
// where it does not come in time.
void fetch_curve(Site& site, const std::string& key, CurveView view,
                 const std::function<void(CurveView)>& done);

// Bands of what stands, or stood, there.
void put_bands(const Site& site, CurveView& view);

}  // namespace clutchward
