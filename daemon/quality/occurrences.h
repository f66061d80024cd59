// The same time under several sets of rules: what one rings for and another does not, and who is
// earlier. Alarms of one cabinet and one sort of trouble that overlap in time, or lie within ten
// minutes of one another, are one occurrence, whatever their rules are called.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "alarm/event.h"

namespace clutchward {

// "too hot", "too cold", "too damp", "too dry", "silent", "probes", "turning", ... : what a rule of
// that kind is about, so that a rule and its namesake or successor elsewhere meet.
std::string sort_of_trouble(RuleKind kind, Quantity quantity, bool downwards,
                            const std::string& signal);

struct OccurrenceSide {
  std::optional<Wall> first;  // none: missed
  Priority highest = Priority::low;
  std::uint64_t raised = 0;
  std::set<std::string> rules;
  bool operator==(const OccurrenceSide&) const = default;
};

struct Occurrence {
  std::string cabinet;
  std::string trouble;
  Wall from{};
  Wall until{};
  std::vector<OccurrenceSide> sides;
  bool operator==(const Occurrence&) const = default;
};

class OccurrenceMatcher {
 public:
  // What lies further apart is another occurrence (our own choice).
  static constexpr Span kApart = std::chrono::minutes{10};

  using Take = std::function<void(const Occurrence&)>;
  OccurrenceMatcher(std::size_t sides, Take take) : sides_(sides), take_(std::move(take)) {}

  // In order of time over all sides.
  void raised(std::size_t side, const AlarmEvent& event, Priority priority,
              const std::string& trouble);
  void ended(std::size_t side, const AlarmEvent& event);
  // Hands out what is still open.
  void finish(Wall until);

 private:
  struct Open {
    Occurrence occurrence;
    std::set<std::pair<std::size_t, AlarmKey>> active;
  };
  using Where = std::pair<std::string, std::string>;  // cabinet, trouble

  std::size_t sides_;
  Take take_;
  std::map<Where, Open> open_;
  std::map<std::pair<std::size_t, AlarmKey>, Where> at_;  // of active alarms
};

// What two sides come to beside one another.
struct OccurrenceSums {
  std::uint64_t both = 0;
  std::uint64_t only_first = 0;
  std::uint64_t only_second = 0;
  // How much earlier the second rang, in seconds (less than 0: later), of those that both rang for.
  std::map<std::int64_t, std::uint64_t> leads;

  void take(const Occurrence& occurrence, std::size_t first, std::size_t second);
  // The middle one of an odd count, the lower middle one of an even; none without any.
  std::optional<Span> middle_lead() const;
};

}  // namespace clutchward
