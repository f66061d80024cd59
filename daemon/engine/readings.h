// What an accepted reading does to its cabinet.
#pragma once

#include "engine/world.h"

namespace clutchward {

// A reading of a probe (temperature, humidity, wet bulb), in thousandths, before the probe's
// offset.
void probe_reading(World& world, CabinetWatch& cabinet, std::uint32_t index, Milli value);
// The machine says whether it has mains.
void power_reading(World& world, CabinetWatch& cabinet, bool on);
// A retained message: shown as last known, judged by nothing.
void old_news(World& world, CabinetWatch& cabinet, std::uint32_t index, Milli value);

Trend trend_of(const CabinetWatch& cabinet);

}  // namespace clutchward
