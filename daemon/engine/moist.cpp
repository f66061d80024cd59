// The water in a cabinet's air. A hygrometer's word stands as it is; without one, relative humidity
// follows from the wet bulb or the dew point beside the cabinet's temperature, at the site's
// altitude. It refuses pairs that cannot be.
#include <algorithm>
#include <cmath>

#include "engine/world.h"

namespace clutchward {
namespace {

// A wick that is saturated may read this much above the dry bulb: two probes of 0.5 C each.
constexpr Milli kProbeError = 1'000;

double celsius(Milli value) { return static_cast<double>(value) / 1000.0; }

std::optional<double> dry_bulb(const World& world, const CabinetWatch& cabinet) {
  const Seen& seen = cabinet.temperature;
  if (!seen.current(world.present.steady, world.silence())) return std::nullopt;
  return (celsius(seen.fresh.above) + celsius(seen.fresh.below)) / 2;
}

bool hygrometer(const World& world, const CabinetWatch& cabinet) {
  return std::any_of(cabinet.probes.begin(), cabinet.probes.end(), [&](const Probe& probe) {
    return probe.quantity == Quantity::humidity && probe.part == Part::air && probe.heard &&
           world.present.steady - probe.at < world.silence();
  });
}

// By which of the two the humidity is known now.
Quantity told_last(const CabinetWatch& cabinet) {
  if (cabinet.seldom().wet_bulb == nullptr) return Quantity::dew_point;
  if (cabinet.seldom().dew_point == nullptr) return Quantity::wet_bulb;
  return cabinet.seldom().dew_point->last > cabinet.seldom().wet_bulb->last ? Quantity::dew_point
                                                                            : Quantity::wet_bulb;
}

std::optional<double> coefficient_of(const CabinetWatch& cabinet) {
  return cabinet.settings != nullptr ? cabinet.settings->psychrometer : std::nullopt;
}

std::optional<MoistAir> from(const World& world, const CabinetWatch& cabinet, double dry,
                             Quantity quantity, double value) {
  const double altitude = world.settings.altitude_m;
  const auto coefficient = coefficient_of(cabinet);
  const auto air = quantity == Quantity::humidity
                       ? from_relative_humidity(dry, value, altitude, coefficient)
                   : quantity == Quantity::wet_bulb
                       ? from_wet_bulb(dry, std::min(value, dry), altitude, coefficient)
                       : from_dew_point(dry, std::min(value, dry), altitude, coefficient);
  return air ? std::optional(*air) : std::nullopt;
}

}  // namespace

bool can_be(const World& world, const CabinetWatch& cabinet, Quantity quantity, Milli value) {
  if (quantity != Quantity::wet_bulb && quantity != Quantity::dew_point) return true;
  if (!dry_bulb(world, cabinet)) return true;
  return value <= cabinet.temperature.hottest + kProbeError;
}

bool follow_moist_air(World& world, CabinetWatch& cabinet, Quantity quantity) {
  if (quantity == Quantity::temperature)
    quantity = told_last(cabinet);
  else if (quantity != Quantity::wet_bulb && quantity != Quantity::dew_point)
    return false;
  const auto dry = dry_bulb(world, cabinet);
  const Seen* seen = seen_of(cabinet, quantity);
  if (!dry || seen == nullptr || !seen->current(world.present.steady, world.silence()) ||
      hygrometer(world, cabinet))
    return false;
  const auto air = from(world, cabinet, *dry, quantity,
                        (celsius(seen->fresh.above) + celsius(seen->fresh.below)) / 2);
  if (!air) return false;
  cabinet.computes_humidity = true;
  if (!cabinet.seldom().humidity) cabinet.make_seldom().humidity = std::make_unique<Seen>();
  Seen& humidity = *cabinet.seldom().humidity;
  const auto percent = static_cast<Milli>(std::lround(air->relative_humidity_percent * 1000.0));
  humidity.known = true;
  humidity.last = seen->last;  // a dry bulb that goes on talking must not hide a wick that is dead
  humidity.fresh = humidity.with_silent = {percent, percent};
  humidity.hottest = humidity.coldest = humidity.hottest_with_silent = percent;
  humidity.fresh_probes = 1;
  return true;
}

std::optional<MoistAir> moist_air(const World& world, const CabinetWatch& cabinet) {
  const auto dry = dry_bulb(world, cabinet);
  const Seen* seen = cabinet.seldom().humidity.get();
  if (!dry || seen == nullptr || !seen->current(world.present.steady, world.silence()))
    return std::nullopt;
  return from(world, cabinet, *dry, Quantity::humidity,
              (celsius(seen->fresh.above) + celsius(seen->fresh.below)) / 2);
}

}  // namespace clutchward
