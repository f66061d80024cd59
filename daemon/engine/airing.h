// The airing of eggs: kinds cooling and lid. Part of world.h.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "base/text.h"
#include "base/time.h"
#include "rules/rule.h"

namespace clutchward {

struct BatchWatch;
struct CabinetWatch;
struct World;

void bind_airing(World& world, BatchWatch& batch);  // the stage has changed: windows or none
void begin_airing(World& world, CabinetWatch& cabinet, BatchWatch& batch);
// Unless something else still keeps it going.
void end_airing(World& world, CabinetWatch& cabinet, BatchWatch& batch, bool cut_off);
void end_recovery(World& world, CabinetWatch& cabinet, BatchWatch& batch);  // its time is up
void follow_airing(World& world, CabinetWatch& cabinet);  // a temperature reading has come
bool airing_watched(const BatchWatch& batch);             // readings must be looked at for it
// An hour by which the eggs must have been aired by hand has come.
void miss_airing_if_due(World& world, CabinetWatch& cabinet, BatchWatch& batch);
std::optional<bool> judge_airing(const World& world, const BatchWatch& batch, const Rule& rule);
Steady lid_due(const World& world, const CabinetWatch& cabinet, const BatchWatch& batch,
               const Rule& rule);
// What the event of such a rule tells: how far it fell, how long, how warm again; and what was
// wanted.
struct AiringFigures {
  std::optional<Milli> value;
  std::optional<Milli> limit;
  std::string_view unit{};
};
AiringFigures airing_figures(const World& world, const CabinetWatch& cabinet,
                             const BatchWatch& batch, const Rule& rule);
std::string airing_evidence(const World& world, const CabinetWatch& cabinet,
                            const BatchWatch& batch, const Rule& rule);

}  // namespace clutchward
