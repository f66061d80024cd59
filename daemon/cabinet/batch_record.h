// What was done with one batch and what came of it: the paper that hangs on the cabinet, as values.
// The engine fills it; state, history, report, page and calendar read it.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/time.h"
#include "reading/reading.h"

namespace clutchward {

// Why an egg leaves the batch, at a candling or at its end. The thirds of incubation are early,
// middle and late; the words are the trade's.
enum class Fate : std::uint8_t {
  hatched,
  infertile,
  dead_early,
  dead_middle,
  dead_late,
  pipped,  // pipped, not hatched
  culled,
  cracked,
  other
};
inline constexpr std::array<std::string_view, 9> kFateNames = {
    "hatched", "infertile", "dead_early", "dead_middle", "dead_late",
    "pipped",  "culled",    "cracked",    "other"};
std::string_view name_of(Fate fate);
using Fates = std::map<Fate, int>;  // eggs by fate, each above 0

struct Candling {
  Wall at{};
  Fates removed;  // empty: all were good
  std::string by;
  std::string note;
  bool operator==(const Candling&) const = default;
};

// The eggs in it, without their tray.
struct Weighing {
  Wall at{};
  double grams = 0;
  int eggs = 0;  // how many were weighed
  std::string by;
  bool operator==(const Weighing&) const = default;
};

struct Relocation {
  Wall at{};
  std::string from;  // cabinets
  std::string to;
  std::string by;
  bool operator==(const Relocation&) const = default;
};

// One local day of turning. Counts of a day that the watch did not see whole are what it saw.
struct TurningDay {
  std::int64_t date = 0;  // local days since 1970-01-01
  int by_machine = 0;
  int by_hand = 0;
  int too_short = 0;  // runs of the turner, where it reports its run time
  int too_long = 0;
  int same_side = 0;  // the side reported was the side before
  bool operator==(const TurningDay&) const = default;
};

struct CoolingDone {
  Wall from{};
  Wall to{};                     // the lid closed again, or the window's end
  std::optional<Milli> lowest;   // C, within it and its recovery
  std::optional<Wall> regained;  // the low limit; none: not within the recovery
  std::string verdict;           // "good", "missed", "too_deep", "too_long", "not_recovered"
  std::string by;                // "" : by its window, or the machine
  bool operator==(const CoolingDone&) const = default;
};

struct StageBegun {
  Wall at{};
  std::string name;
  bool operator==(const StageBegun&) const = default;
};

// What was put right after the fact, by whom and when.
struct Correction {
  Wall at{};
  std::string by;
  std::string what;  // "eggs 48 -> 46"
  bool operator==(const Correction&) const = default;
};

struct BatchRecord {
  std::string id;
  std::string profile;  // id
  std::string name;     // of the profile
  std::string cabinet;  // where it stands, or stood last
  Wall set_at{};
  double days = 0;                    // planned
  int eggs = 0;                       // set; 0: not said
  std::optional<double> stored_days;  // between laying and setting, mean
  bool set = false;
  std::optional<Wall> ended_at;
  Fates outcome;  // at its end, without what candling took before
  std::string note;
  std::string split_from;  // batch id
  std::vector<StageBegun> stages;
  std::vector<Candling> candlings;
  std::vector<Weighing> weighings;
  std::vector<Relocation> moves;
  std::vector<TurningDay> turning;
  std::vector<CoolingDone> coolings;
  std::vector<Correction> corrections;
  std::string ended_by;
  bool operator==(const BatchRecord&) const = default;

  // Eggs still in the batch: set, less what candling and the outcome took.
  int eggs_left() const;
};

// "dead_late" and so on; none for any other word.
std::optional<Fate> fate_named(std::string_view word);
// All of them together.
int count(const Fates& fates);

// The most days between laying and setting that are believed: older eggs hatch no more (Fasenko
// 2007: hatch falls after a week; the bound is our own).
inline constexpr double kStoredDaysMost = 60;

}  // namespace clutchward
