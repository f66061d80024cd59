// What became of the alarms, event by event: how many, of which priority, how long they stood, who
// answered and after how long, which come and go. Memory grows with the number of different alarms,
// never with that of the events. Counts only annunciations: a return or an answer is none.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "alarm/event.h"
#include "notification/chatter.h"
#include "quality/load.h"
#include "quality/wait_times.h"

namespace clutchward {

// One alarm (cabinet, batch, rule) over the whole time.
struct AlarmTotals {
  AlarmKey key;
  std::optional<Priority> priority;  // as last told
  std::uint64_t raised = 0;
  std::uint64_t annunciated = 0;  // raised, raised again or worsened, each told loudly
  double chatter_index = 0;       // over all its raises
  bool chatters = false;          // three in a minute, or the index of a run from 0.05 a second on
  // Of raises that were followed by another within ten minutes: how long it stood at most, and by
  // how much it came back from its limit. A delay longer by more than that, or a deadband of more,
  // would have made one of it.
  std::optional<Span> stood;
  std::optional<Milli> swing;
  bool operator==(const AlarmTotals&) const = default;
};

struct TallyFigures {
  LoadFigures load;  // of everybody together
  std::uint64_t events = 0;
  std::uint64_t raised = 0;
  std::map<std::string, std::uint64_t> annunciated_by_priority;
  std::map<std::string, std::uint64_t> raised_by_rule;
  std::vector<AlarmTotals> worst;        // most raised first, at most kWorst
  std::uint64_t different = 0;           // alarms
  std::uint64_t ten_most = 0;            // raises of the ten that were raised most
  std::uint64_t chattering = 0;          // alarms
  std::uint64_t fleeting = 0;            // raises: under 10 s, and not again within the minute
  double worst_chatter_index = 0;        // of those with at least four gaps
  std::uint64_t stale = 0;               // stood for more than 24 h without a break
  std::uint64_t stale_a_day = 0;         // most of them on one day (UTC)
  std::uint64_t acknowledged = 0;        // raises that somebody acknowledged
  std::uint64_t never_acknowledged = 0;  // over, and nobody did
  std::uint64_t only_snoozed = 0;        // of those: put off
  std::uint64_t unanswered = 0;          // active at the end, and nobody did so far
  WaitTimes answers;
  std::map<std::string, WaitTimes> answers_by_priority;
};

class AlarmTally {
 public:
  static constexpr std::size_t kWorst = 10;

  // In order of time. `priority` as the alarm had it then.
  void take(const AlarmEvent& event, std::optional<Priority> priority);
  // Over a time that holds every event.
  TallyFigures figures(Wall from, Wall until) const;

 private:
  struct Line {
    AlarmTotals totals;
    bool active = false;
    bool acknowledged = false;  // since it was last told
    bool answered = false;      // since it was raised
    bool snoozed = false;
    bool put_off = false;  // snoozed at any time since it was raised
    bool open = false;     // raised, and what became of it is not counted yet
    Wall raised_at{};
    std::optional<Wall> told_at;
    std::optional<Wall> fleeting_at;  // came and went within seconds, raised then
    Chatter chatter;
    Span last_stood{0};
    std::optional<Milli> last_swing;
    double inverse_gaps = 0;
    std::uint64_t gaps = 0;
  };

  using Lines = std::map<AlarmKey, Line>;

  Lines::iterator moved(const AlarmKey& key);
  void raise(Line& line, const AlarmEvent& event);
  void annunciate(Line& line, const AlarmEvent& event);
  void give_back(Line& line, const AlarmEvent& event);
  void answer(Line& line, Wall at);
  void close(Line& line);
  void stood(Line& line, Wall until);

  Lines lines_;
  LoadCount load_;
  TallyFigures sums_;
  std::map<std::int64_t, std::uint64_t> stale_by_day_;
};

}  // namespace clutchward
