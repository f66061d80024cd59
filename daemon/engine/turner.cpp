// What a turner says of its turns: that it turned, for how long it ran, on which side the eggs lie.
// Counts the turns of each local day for the batches' records, and decides what counts as a turn
// for the alarm. It refuses to take a motor's word where the eggs themselves were seen not to move.
#include <algorithm>
#include <cstdlib>

#include "engine/world.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

// Two kinds of word this close together tell of one turn (our own choice; a run takes seconds).
constexpr Span kSameTurn = 2min;
// An angle smaller than this is level: no side (our own choice; turners tilt by 30 to 45 degrees).
constexpr Milli kLevel = 1'000;

// From the weakest to the best: a motor may turn an empty shaft, a run may be cut short.
enum class Witness : std::uint8_t { turn, run, side };

bool told(const World& world, Quantity quantity) {
  return std::any_of(
      world.settings.patterns.begin(), world.settings.patterns.end(), [&](const auto& pattern) {
        if (pattern.quantity == quantity) return true;
        return std::any_of(pattern.fields.begin(), pattern.fields.end(),
                           [&](const auto& field) { return field.quantity == quantity; });
      });
}

Witness witness_of(const World& world, const CabinetWatch& cabinet) {
  const TurnerWatch* turner = cabinet.seldom().turner.get();
  if (turner == nullptr) return Witness::turn;
  if (turner->side != 0 && told(world, Quantity::turn_side)) return Witness::side;
  if (turner->runs && told(world, Quantity::turn_run)) return Witness::run;
  return Witness::turn;
}

TurnerWatch& turner_of(CabinetWatch& cabinet) {
  if (!cabinet.seldom().turner) cabinet.make_seldom().turner = std::make_unique<TurnerWatch>();
  return *cabinet.seldom().turner;
}

void count(World& world, CabinetWatch& cabinet, int TurningDay::*what) {
  for (auto& batch : cabinet.batches)
    if (batch->set && !batch->ended) ++(day_of_turning(world, *batch).*what);
  touch(world, cabinet);
}

// There is a machine that turns, whether this was a good turn or none.
void machine_heard(World& world, CabinetWatch& cabinet) {
  if (cabinet.machine_turns) return;
  cabinet.machine_turns = true;
  cabinet.quiet = false;
  renew_turning(world, cabinet);
  touch(world, cabinet);
}

// Told already in other words, before the better witness was known.
bool just_counted(const World& world, const CabinetWatch& cabinet) {
  return cabinet.last_turn && world.present.steady - *cabinet.last_turn <= kSameTurn;
}

void run_told(World& world, CabinetWatch& cabinet, Milli seconds) {
  if (seconds <= 0) return;  // it did not run: no turn, and nothing to complain of
  const Witness before = witness_of(world, cabinet);
  turner_of(cabinet).runs = true;
  machine_heard(world, cabinet);
  const Span run = std::chrono::milliseconds{seconds};
  const auto limits = cabinet.settings != nullptr ? cabinet.settings->turner_run : std::nullopt;
  const bool too_short = limits && run < limits->from;
  if (too_short) count(world, cabinet, &TurningDay::too_short);
  if (limits && run > limits->to) count(world, cabinet, &TurningDay::too_long);
  if (too_short || before == Witness::side) return;
  if (before == Witness::turn && just_counted(world, cabinet)) return;
  turned(world, cabinet, true);
}

// The shortest interval at which the cabinet's machine should turn now.
std::optional<Span> interval_due(const CabinetWatch& cabinet) {
  std::optional<Span> shortest;
  for (const auto& batch : cabinet.batches)
    if (batch->turning_due && turn_interval(*batch))
      shortest = std::min(shortest.value_or(Span::max()), *turn_interval(*batch));
  return shortest;
}

void side_told(World& world, CabinetWatch& cabinet, Milli angle) {
  if (std::abs(angle) < kLevel) return;  // on its way, or at rest for the lockdown
  TurnerWatch& turner = turner_of(cabinet);
  const std::int8_t side = angle < 0 ? -1 : 1;
  const std::int8_t before = turner.side;
  const Steady before_at = turner.side_at;
  turner.side = side;
  turner.side_at = world.present.steady;
  machine_heard(world, cabinet);
  if (before == side) {
    // Told again soon it is the state told once more; at the pace of turns it is a turn that moved
    // nothing.
    const auto interval = interval_due(cabinet);
    if (interval && turner.side_at - before_at >= *interval / 2)
      count(world, cabinet, &TurningDay::same_side);
    return;
  }
  if (before == 0 && just_counted(world, cabinet)) return;
  turned(world, cabinet, true);
}

}  // namespace

TurningDay& day_of_turning(World& world, BatchWatch& batch) {
  const auto local = std::chrono::floor<std::chrono::days>(world.zone.to_local(world.present.wall));
  const std::int64_t date = local.time_since_epoch().count();
  if (!batch.today) {
    batch.today = std::make_unique<TurningDay>();
    batch.today->date = date;
  } else if (batch.today->date < date && world.present.wall_trusted) {
    paper_of(world, batch).turning.push_back(*batch.today);
    *batch.today = TurningDay{};
    batch.today->date = date;
  }
  return *batch.today;
}

void count_turn(World& world, CabinetWatch& cabinet, bool by_machine) {
  count(world, cabinet, by_machine ? &TurningDay::by_machine : &TurningDay::by_hand);
}

void turner_says(World& world, CabinetWatch& cabinet, Quantity quantity, Milli value) {
  if (quantity == Quantity::turn_run) return run_told(world, cabinet, value);
  if (quantity == Quantity::turn_side) return side_told(world, cabinet, value);
  machine_heard(world, cabinet);
  if (witness_of(world, cabinet) == Witness::turn) turned(world, cabinet, true);
}

}  // namespace clutchward
