// Everything the engine holds: cabinets, their batches, their alarms and their deadlines. Internal
// to this room; the rest of the house sees engine.h.
#pragma once

#include <deque>
#include <forward_list>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <unordered_map>
#include <vector>

#include "base/long_lived.h"
#include "base/tree.h"
#include "base/zone.h"
#include "cabinet/batch_record.h"
#include "cabinet/probes.h"
#include "cabinet/settings.h"
#include "engine/airing.h"
#include "engine/command.h"
#include "engine/early.h"
#include "engine/hash_index.h"
#include "engine/heap.h"
#include "engine/kept_watch.h"
#include "engine/minutes.h"
#include "engine/rule_book.h"
#include "engine/slot.h"
#include "incubation/humidity.h"

namespace clutchward {

struct BatchWatch final : LongLivedObject {
  std::string id;
  const Profile* profile = nullptr;
  Wall set_at{};
  Steady set_steady{};  // set_at on the clock that never jumps
  std::optional<Span> recovery;
  std::unique_ptr<RulePatches> overrides;
  std::unique_ptr<RuleSet> own_rules;  // where there are overrides
  std::forward_list<Rule> former_rules;
  int eggs = 0;
  std::uint32_t stage = 0;
  bool from_settings = false;
  bool set = false;
  bool ended = false;
  bool still = false;  // in a still-air machine, as last bound
  bool turning_due = false;
  bool kept = false;         // the state has it, and is to have it from now on
  bool window_open = false;  // a cooling window
  Steady turning_due_since{};
  Wall window_edge{};              // its end, or the next beginning
  Steady cooling_until{};          // recovery after a cooling; Steady{} : none runs
  std::unique_ptr<Airing> airing;  // where the stage has windows
  Slots slots;
  // What was done with it, once something was: paper_of() makes it. Holds what the watch itself
  // does not know: id, profile, cabinet, set_at and so on are laid over it by record_of().
  std::unique_ptr<BatchRecord> paper;
  std::unique_ptr<TurningDay> today;  // turns of the local day that is not over; none yet: null

  const Stage& present() const { return profile->stages[stage]; }
  Milli target() const {
    return still ? present().target_still.value_or(present().target) : present().target;
  }
};

// Somebody said to be at the cabinet.
struct Attending {
  Steady until{};
  std::string by;
};

// What few cabinets have, or seldom.
struct Seldom {
  std::unique_ptr<Seen> humidity;
  std::unique_ptr<Seen> wet_bulb;
  std::unique_ptr<Seen> dew_point;
  std::unique_ptr<std::vector<Mean>> means;  // where a rule asks for one
  std::unique_ptr<TurnerWatch> turner;       // where it tells its run time or the side
  std::unique_ptr<Attending> attending;
  Steady hand_cools_until = kNever;     // kNever: it does not
  Steady machine_cools_until = kNever;  // it is not believed for longer
  Steady cooling_until{};               // recovery, for the machine's rules
  Steady power_lost_at{};
};

struct CabinetWatch final : LongLivedObject {
  // What nearly every reading touches, and nothing else, stands first: two lines of cache.
  std::vector<Probe, LongLived<Probe>> probes;
  Seen temperature;
  // A temperature reading whose combination stays inside this band changes nothing at all.
  Milli quiet_above = 0;  // what `above` sees may not pass it
  Milli quiet_below = 0;
  Milli quiet_hottest = 0;
  Milli quiet_spread = 0;
  bool quiet = false;
  bool picture_dirty = false;
  bool state_dirty = false;
  bool trend_known = false;
  Milli earlier = 0;  // for rising and falling: the value five to ten minutes ago
  Milli recent = 0;
  Combine combine = Combine::by_count;
  bool has_early = false;          // `early` is there
  bool computes_humidity = false;  // from wet bulb or dew point: it follows the dry bulb, too
  std::uint16_t pattern = 0;       // the one by which it became known, from 1; 0: none
  std::uint32_t index = 0;
  Steady recent_at{};
  MinuteBook minutes;
  std::unique_ptr<Early> early;
  std::string id;  // "" : the site itself, for its own alarms
  const CabinetSettings* settings = nullptr;
  std::unique_ptr<Seldom> seldom_parts;  // none: as a new one
  Steady known_at{};
  std::optional<Steady> last_turn;
  bool machine_turns = false;     // a turn was ever heard from the machine
  bool cooling_reported = false;  // the machine says it is cooling
  bool cooling = false;           // by report or by hand, and not past its cap
  bool kept = false;              // the state has it, and is to have it from now on
  std::optional<bool> power;
  Slots slots;  // the machine's rules
  std::forward_list<Rule> former_rules;
  std::vector<std::unique_ptr<BatchWatch>, LongLived<std::unique_ptr<BatchWatch>>>
      batches;  // sorted by id

  // To look at; to set something, make_seldom().
  const Seldom& seldom() const;
  Seldom& make_seldom();
};

struct World {
  World(Settings settings, Zone zone, Moment start, bool linked);

  Settings settings;
  Zone zone;
  std::unique_ptr<RuleBook> book;
  std::unique_ptr<RuleBook> old_book;  // alive while slots are rebound
  std::vector<std::unique_ptr<CabinetWatch>> cabinets;
  HashIndex cabinet_index;  // by the cabinet's id
  HashIndex home_index;     // places of cabinets by the ids of their batches: see home_of
  std::set<std::string> ended_batches;
  std::unordered_map<std::string, std::unique_ptr<BatchRecord>> finished;
  std::set<std::string> in_history;  // those of them that a history holds as they are
  std::vector<std::string> names;    // of probes
  std::unordered_map<std::string, std::uint32_t> name_index;
  Moment present{};
  Wall saved_at{};  // of the state that was taken back; the epoch where there was none
  bool linked = true;
  Steady link_changed_at{};
  std::deque<Steady> link_changes;   // the last of them, oldest first
  bool all_silent = false;           // a rule of that kind has found it so
  std::uint16_t silent_pattern = 0;  // of which pattern; 0: of the whole site

  struct ById {
    const World* world;
    bool operator()(std::uint32_t a, std::uint32_t b) const {
      return world->cabinets[a]->id < world->cabinets[b]->id;
    }
  };
  DeadlineHeap<ById> spans;     // steady deadlines, one entry a cabinet: a lower bound
  DeadlineHeap<ById> calendar;  // wall deadlines, the same

  std::vector<AlarmEvent> events;
  std::vector<std::uint32_t> dirty_pictures;
  std::vector<std::uint32_t> dirty_states;
  std::vector<Change> changes;
  std::set<std::string> changed_records;  // ids, for whoever keeps histories
  std::set<std::string> dirty_papers;     // ids, to be made durable
  std::vector<std::string> attending_ended;
  std::vector<std::string> notes;  // lines for the log
  std::vector<std::string> news;   // of a new configuration, for people
  std::vector<TestRequest> tests;  // messages that a person wants sent to see that they arrive

  bool keep_minutes = false;
  std::vector<std::uint32_t> open_minutes;  // cabinets with a running minute
  std::vector<MinuteMean> minutes;          // finished ones

  std::unordered_map<std::string, Reply> answered;  // commands by id
  std::deque<std::string> answered_order;

  CabinetWatch& site() { return *cabinets.front(); }
  Span silence() const { return book->silence(); }
  Wall wall_of(Steady time) const { return present.wall + (time - present.steady); }
  Steady steady_of(Wall time) const { return present.steady + (time - present.wall); }
};

// --- cabinets.cpp: who there is ------------------------------------------------------------------
// The cabinet of that id, made known now where it is new; none past max_cabinets.
CabinetWatch* cabinet_of(World& world, const std::string& id);
CabinetWatch* find_cabinet(World& world, const std::string& id);
// All of them by id, the site first: what touches every cabinet does so in the order of section 1,
// whoever came to be known first.
std::vector<CabinetWatch*> in_order(World& world);
std::uint32_t name_of_probe(World& world, const std::string& name);
// The place of a probe's readings in cabinet.probes; none past the limit.
std::optional<std::uint32_t> probe_of(World& world, CabinetWatch& cabinet, const std::string& name,
                                      Quantity quantity);
// The cabinet's settings anew: combination, parts and offsets of its probes.
void bind_cabinet(World& world, CabinetWatch& cabinet);
const Seen* seen_of(const CabinetWatch& cabinet, Quantity quantity);
void touch(World& world, CabinetWatch& cabinet);  // its picture and its state have changed
void show(World& world, CabinetWatch& cabinet);   // its picture only

// --- slots.cpp: one rule on one cabinet or batch -------------------------------------------------
// Every alarm in the engine's order: the machine's by rule id, then the batches' by batch and rule.
// The visitor may change a slot, not add or drop one.
template <class Visitor>
void visit(CabinetWatch& cabinet, Visitor&& visitor) {
  for (Slot& slot : cabinet.slots) visitor(static_cast<BatchWatch*>(nullptr), slot);
  for (auto& batch : cabinet.batches)
    for (Slot& slot : batch->slots) visitor(batch.get(), slot);
}
Life& life_of(Slot& slot);
void tidy(Slot& slot);  // drops a Life that says nothing
bool has_limit(const Rule& rule);
std::optional<Milli> limit_of(const Rule& rule, const BatchWatch* batch);
// What the rule sees, as last combined; none where it has no number.
std::optional<Milli> value_of(const World& world, const CabinetWatch& cabinet,
                              const BatchWatch* batch, const Rule& rule);
// The limit that is told beside it: for rules that look at the past it lies in the past, too.
std::optional<Milli> told_limit(const CabinetWatch& cabinet, const BatchWatch* batch,
                                const Rule& rule);
// The comparator of section 3, on what is seen with and without the probes that fell silent.
bool beyond(const Rule& rule, bool holds, Milli limit, Milli fresh, Milli with_silent);
// "39.8 °C is above 39.5 °C"
std::string evidence_of(const World& world, const CabinetWatch& cabinet, const BatchWatch* batch,
                        const Rule& rule);
LifeContext context_of(World& world, const CabinetWatch& cabinet, const BatchWatch* batch,
                       const Slot& slot, std::string by = {});
void emit(World& world, CabinetWatch& cabinet, const BatchWatch* batch, const Slot& slot,
          std::optional<EventKind> kind, const std::string& by = {});
// Warming: whether the temperature has been on the right side of the rule's own limit, since when.
void follow_limit_held(World& world, const CabinetWatch& cabinet, const BatchWatch* batch,
                       Slot& slot);
// Judges the condition anew and lets the alarm follow (sections 3 and 4).
void follow(World& world, CabinetWatch& cabinet, BatchWatch* batch, Slot& slot);
// The same after a reading of the rule's quantity: off-delays that waited, worst, worsened.
void follow_reading(World& world, CabinetWatch& cabinet, BatchWatch* batch, Slot& slot);
// Rules of `set` take their slots, slots without a rule are taken out.
void bind_rules(World& world, CabinetWatch& cabinet, BatchWatch* batch, const RuleSet& set);
void bind_machine_rules(World& world, CabinetWatch& cabinet);
void drop_closed_formers(CabinetWatch& cabinet, BatchWatch* batch);

// --- early.cpp: rules that look at the past
Early& early_of(CabinetWatch& cabinet);  // made now where there is none
// What the rules now in force keep, and nothing else.
void renew_tracks(CabinetWatch& cabinet);
// A temperature reading has been combined. True where a rule that looks at the past would turn.
bool take_in_early(World& world, CabinetWatch& cabinet);
std::optional<bool> judge_past(const World& world, const CabinetWatch& cabinet,
                               const BatchWatch* batch, const Slot& slot);
std::optional<Milli> past_value(const World& world, const CabinetWatch& cabinet,
                                const BatchWatch* batch, const Rule& rule);
std::optional<Milli> past_limit(const CabinetWatch& cabinet, const BatchWatch* batch,
                                const Rule& rule);
// Whether lower is worse for what the rule sees now.
bool drifts_down(const CabinetWatch& cabinet, const BatchWatch* batch, const Rule& rule);
// The limit at which harm begins: the rule's own, else that of the batch's rule `high` (`low`),
// else the first to be reached of its temperature rules of priority high.
std::optional<Milli> harm_limit(const Rule& rule, const BatchWatch* batch, Towards side);
double egg_lag_min(const World& world, const BatchWatch* batch, const Rule& rule);
// When the limit is reached at this pace, and between when and when by the slope's standard errors.
struct Outlook {
  Milli limit = 0;
  Steady at{};
  std::optional<Steady> earliest;
  std::optional<Steady> latest;
};
std::optional<Outlook> outlook(const World& world, const CabinetWatch& cabinet,
                               const BatchWatch* batch, const Rule& rule);

// --- probe_health.cpp ----------------------------------------------------------------------------
// A reading of an air probe has come; true where something has changed in what is to be believed.
bool examine_probe(World& world, CabinetWatch& cabinet, std::uint32_t index);
// What a probe said lay outside its plausible range.
void implausible_reading(World& world, CabinetWatch& cabinet, std::uint32_t index);
// Nothing is believed less than anything else any more.
void leave_none_out(CabinetWatch& cabinet);
bool any_probe_at_fault(const CabinetWatch& cabinet);
// "top frozen at 37.5 °C; bottom silent"
std::string probe_faults(const World& world, const CabinetWatch& cabinet);
std::string probe_fault_word(const CabinetWatch& cabinet, const Probe& probe);  // "" : none known
// The key confirm: counts a reading of that probe; whether enough of them lay beyond the limit.
void confirm(CabinetWatch& cabinet, const BatchWatch* batch, const Slot& slot, std::uint32_t index);
bool confirmed(const CabinetWatch& cabinet, const BatchWatch* batch, const Rule& rule);
bool confirming(const CabinetWatch& cabinet);

// --- signals.cpp ---------------------------------------------------------------------------------
void signal_reading(World& world, CabinetWatch& cabinet, const std::string& name, bool on);
std::optional<bool> judge_signal(const CabinetWatch& cabinet, const Rule& rule);

// --- all_silent.cpp: every cabinet at once
std::optional<bool> judge_all_silent(World& world, const Rule& rule);
Steady all_silent_due(const World& world, const Rule& rule);
std::string all_silent_words(const World& world, const Rule& rule);
// Whether this cabinet's silence is part of one that is told for all.
bool part_of_all_silent(const World& world, const CabinetWatch& cabinet);

// --- suppression.cpp: section 6 ------------------------------------------------------------------
bool cooling_now(const World& world, const CabinetWatch& cabinet, const BatchWatch* batch);
std::vector<std::string> reasons(const World& world, const CabinetWatch& cabinet,
                                 const BatchWatch* batch, const Slot& slot);
// After any reason began or ended: holds what it must, lets go on what may, judges afresh.
void renew_suppression(World& world, CabinetWatch& cabinet);
void link_changed(World& world, bool linked);
Steady broker_hold_ends(const World&, const CabinetWatch&, const BatchWatch*, const Slot&);
Steady warm_up_ends(const BatchWatch& batch, const Slot& slot);
bool warms_up(const Rule& rule);
void machine_cooling(World& world, CabinetWatch& cabinet, bool on);
void close_window(World& world, CabinetWatch& cabinet, BatchWatch& batch);
void cool_by_hand(World& world, CabinetWatch& cabinet, Span length);
Steady cooling_ends(const Seldom& seldom);  // by hand and by report; kNever: none runs
void end_cooling(World& world, CabinetWatch& cabinet);
// A batch that comes in recovers with the cabinet; the recovery of the place it left stays there.
void join_recovery(World& world, const CabinetWatch& cabinet, BatchWatch& batch);
void turned(World& world, CabinetWatch& cabinet, bool by_machine);

// --- means.cpp: key average ----------------------------------------------------------------------
void want_mean(CabinetWatch& cabinet, const Rule& rule);
// A reading of the quantity has been combined.
void follow_means(const World& world, CabinetWatch& cabinet, Quantity quantity);
std::optional<Milli> mean_of(const CabinetWatch& cabinet, const Rule& rule);
Span piece_of(const Mean& mean);
void renew_mean(Mean& mean, Steady now);

// --- moist.cpp: wet bulb and dew point to relative humidity --------------------------------------
// The cabinet's humidity, where no probe of its own tells it, after a reading of wet bulb, dew
// point or the dry bulb beside them. True: it has been computed anew.
bool follow_moist_air(World& world, CabinetWatch& cabinet, Quantity quantity);
// Whether there can be such air beside the temperature now known.
bool can_be(const World& world, const CabinetWatch& cabinet, Quantity quantity, Milli value);
// From temperature and humidity as they stand; none where one is not known.
std::optional<MoistAir> moist_air(const World& world, const CabinetWatch& cabinet);

// --- turner.cpp: turns counted, and what counts as one ----------------------------------------
// The machine's word: that it turned, for how long (ms), on which side the eggs lie (m°).
void turner_says(World& world, CabinetWatch& cabinet, Quantity quantity, Milli value);
// A turn for the record of every batch in the cabinet.
void count_turn(World& world, CabinetWatch& cabinet, bool by_machine);
// Of the present local day; a day that is over goes into the batch's paper.
TurningDay& day_of_turning(World& world, BatchWatch& batch);

// --- batches.cpp: stages and days ----------------------------------------------------------------
BatchWatch* find_batch(CabinetWatch& cabinet, const std::string& id);
// The cabinet that holds a batch; none: null.
CabinetWatch* home_of(const World& world, const std::string& id);
std::vector<std::string> batch_ids(const World& world);
// Takes a batch out of its cabinet, with its alarms.
std::unique_ptr<BatchWatch> take_batch(World& world, CabinetWatch& cabinet, BatchWatch& batch);
const BatchWatch* batch_named(const World& world, const std::string& id);
BatchWatch& add_batch(World& world, CabinetWatch& cabinet, std::unique_ptr<BatchWatch> batch);
void begin_if_due(World& world, CabinetWatch& cabinet, BatchWatch& batch);  // set, stages
void bind_stage(World& world, CabinetWatch& cabinet, BatchWatch& batch);
void end_batch(World& world, CabinetWatch& cabinet, BatchWatch& batch);
// The stage of the present time anew, after the batch's own time or place changed; `at_least` is
// the stage that it is known to have reached.
void restage(World& world, CabinetWatch& cabinet, BatchWatch& batch, std::uint32_t at_least);
// The stage that a move begins now: the next one that waits for it, from 48 h before its day on.
std::optional<std::uint32_t> stage_of_move(const World& world, const BatchWatch& batch);
void drop_finished(World& world, CabinetWatch& cabinet);
void renew_turning(World& world, CabinetWatch& cabinet);  // due or not, since when
void find_window(World& world, BatchWatch& batch);
std::optional<Span> turn_interval(const BatchWatch& batch);
// When `missed` turns in a row will have been missed: intervals, or hours of turning by hand.
Steady turning_deadline(const World& world, const CabinetWatch& cabinet, const BatchWatch& batch,
                        int missed);
Steady turning_base(const CabinetWatch& cabinet, const BatchWatch& batch);
// Some batch asks for turns, or welcomes them.
bool turns_wanted(const CabinetWatch& cabinet);
Steady silence_base(const CabinetWatch& cabinet);
Wall next_calendar(const World& world, const BatchWatch& batch);
void fire_calendar(World& world, CabinetWatch& cabinet, BatchWatch& batch);
double day_of(const World& world, const BatchWatch& batch);

// --- papers.cpp: what was done with a batch ------------------------------------------------------
// The batch's paper, made where there is none, and marked as changed.
BatchRecord& paper_of(World& world, BatchWatch& batch);
// The whole record, put together from paper and watch.
BatchRecord record_of(const World& world, const CabinetWatch& cabinet, const BatchWatch& batch);
std::optional<BatchRecord> record_of(const World& world, const std::string& id);
int eggs_left(const BatchWatch& batch);  // below 0 never; 0 also where nobody said how many
void let_records_go(World& world);       // the oldest of finished batches, past the limit
// Marks it as changed for histories, without making a paper.
void record_changed(World& world, const std::string& id);

// --- deadlines.cpp: the clock --------------------------------------------------------------------
void reschedule(World& world, CabinetWatch& cabinet);
void fire_until(World& world, Steady until, bool inclusive);
std::optional<Steady> next_deadline(World& world);

// --- minutes.cpp: for a history ------------------------------------------------------------------
std::int64_t minute_of(Wall time);
void gather_minute(World& world, CabinetWatch& cabinet, std::uint32_t place, Milli value);
// Closes the minutes that are over; with `running_too` every one.
void close_minutes(World& world, bool running_too);

// --- views.cpp -----------------------------------------------------------------------------------
AlarmView view_of(const World& world, const CabinetWatch& cabinet, const BatchWatch* batch,
                  const Slot& slot);

}  // namespace clutchward
