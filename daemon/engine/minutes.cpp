// Gathering minutes: a reading is added to its probe's place; a reading of another minute closes
// the whole cabinet's.
#include "engine/minutes.h"

#include <algorithm>

#include "engine/world.h"

namespace clutchward {
namespace {

// A sum of this many of the largest plausible values (100,000) still fits; what follows becomes a
// second value of the same minute, which whoever keeps them adds up.
constexpr std::uint32_t kMostInOne = 20'000;

Milli rounded(std::int64_t sum, std::int64_t count) {
  const std::int64_t half = count / 2;
  return static_cast<Milli>((sum >= 0 ? sum + half : sum - half) / count);
}

// Of a place that holds readings.
MinuteMean mean_of(const World& world, const CabinetWatch& cabinet, std::size_t place,
                   std::int64_t minute) {
  const Probe& probe = cabinet.probes[place];
  const MinuteSum& sum = probe.minute;
  return {cabinet.id, world.names[probe.name],     probe.quantity, minute,
          sum.low,    rounded(sum.sum, sum.count), sum.high,       sum.count};
}

void close_sum(World& world, CabinetWatch& cabinet, std::size_t place, std::int64_t minute) {
  MinuteSum& sum = cabinet.probes[place].minute;
  if (sum.count == 0) return;
  world.minutes.push_back(mean_of(world, cabinet, place, minute));
  sum.count = 0;
}

void close_minute(World& world, CabinetWatch& cabinet) {
  for (std::size_t i = 0; i < cabinet.probes.size(); ++i)
    close_sum(world, cabinet, i, cabinet.minutes.minute);
}

}  // namespace

std::int64_t minute_of(Wall time) {
  return std::chrono::floor<std::chrono::minutes>(time).time_since_epoch().count();
}

void gather_minute(World& world, CabinetWatch& cabinet, std::uint32_t place, Milli value) {
  MinuteBook& book = cabinet.minutes;
  const std::int64_t minute = minute_of(world.present.wall);
  if (!book.open) {
    book.open = true;
    book.minute = static_cast<std::int32_t>(minute);
    world.open_minutes.push_back(cabinet.index);
  } else if (book.minute != minute) {
    close_minute(world, cabinet);
    book.minute = static_cast<std::int32_t>(minute);
  }
  MinuteSum& sum = cabinet.probes[place].minute;
  if (sum.count == kMostInOne) close_sum(world, cabinet, place, minute);
  if (sum.count == 0) {
    sum = {value, value, value, 1};
    return;
  }
  sum.low = std::min(sum.low, value);
  sum.high = std::max(sum.high, value);
  sum.sum += value;
  ++sum.count;
}

std::vector<MinuteMean> minutes_so_far(const World& world, const CabinetWatch& cabinet) {
  std::vector<MinuteMean> found;
  for (const MinuteMean& each : world.minutes)
    if (each.cabinet == cabinet.id) found.push_back(each);
  for (std::size_t i = 0; i < cabinet.probes.size(); ++i)
    if (cabinet.probes[i].minute.count > 0)
      found.push_back(mean_of(world, cabinet, i, cabinet.minutes.minute));
  return found;
}

void close_minutes(World& world, bool running_too) {
  const std::int64_t now = minute_of(world.present.wall);
  std::erase_if(world.open_minutes, [&](std::uint32_t index) {
    CabinetWatch& cabinet = *world.cabinets[index];
    // A clock set back leaves a minute of the future behind: it is over as well.
    if (!running_too && cabinet.minutes.minute == now) return false;
    close_minute(world, cabinet);
    cabinet.minutes.open = false;
    return true;
  });
}

}  // namespace clutchward
