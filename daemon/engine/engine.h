// The deterministic whole: inputs with their times in, events and changes out. The same inputs with
// the same times give the same events, live or replayed. Reads no clock, touches no file, sends
// nothing.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "alarm/event.h"
#include "base/tree.h"
#include "base/zone.h"
#include "cabinet/batch_record.h"
#include "cabinet/settings.h"
#include "engine/brief.h"
#include "engine/command.h"
#include "engine/minutes.h"
#include "engine/view.h"
#include "rules/origin.h"

namespace clutchward {

// What could not be read, and who was turned away: for the picture of the watch itself.
struct IntakeCounts {
  std::uint64_t accepted = 0;
  std::vector<std::pair<std::string_view, std::uint64_t>> rejected;  // by reason, all reasons
  std::uint64_t turned_away = 0;
  std::string last_rejected;
};

class Engine : public AlarmLookup {
 public:
  // The watch starts at `start`; `linked` says whether the broker connection stands.
  Engine(const Settings& settings, const Zone& zone, Moment start, bool linked);
  ~Engine() override;
  Engine(const Engine&) = delete;
  Engine& operator=(const Engine&) = delete;

  // Takes back what was kept, before any other input. Keys begin with "cabinets/", "batches/",
  // "commands/", "records/"; others are passed over. What cannot be understood is named in the
  // answer and left out; the rest is kept.
  std::vector<std::string> restore(const std::vector<std::pair<std::string, Tree>>& kept,
                                   Wall saved_at);
  // Sets the batches of the configuration that the state does not know. Once, after restore.
  void begin();

  // Inputs. Each fires the deadlines strictly before its time first; one stamped earlier than the
  // engine's present is applied at the present.
  bool message(std::string_view topic, std::string_view payload, bool retained, Moment now);
  Reply command(const Command& command, bool retained, Moment now);
  void link(bool up, Moment now);
  void configure(const Settings& settings, const Zone& zone, Moment now);
  // Fires the deadlines up to and at `now`.
  void settle(Moment now);

  std::optional<Steady> next_deadline() const;
  Moment present() const;

  // What has come of the inputs since the last call.
  std::vector<AlarmEvent> take_events();
  std::vector<Change> take_changes();  // to be made durable
  // Whose picture has changed, who waits longest first.
  std::vector<std::string> take_dirty_cabinets(std::size_t most = SIZE_MAX);
  bool has_dirty_cabinets() const;
  void show_all();  // every picture counts as changed
  std::vector<std::string> take_attending_ended();
  std::vector<TestRequest> take_tests();  // test messages to be made
  std::vector<std::string> take_notes();  // lines for the log
  // What the last configuration changed for eggs that are in: sentences for people.
  std::vector<std::string> take_news();
  // Ids of the batches whose record has changed, sorted, each once: for whoever keeps histories.
  std::vector<std::string> take_changed_records();
  // A history holds the record of this batch as it is now. Records of batches that ended are let
  // go, the oldest first, once there are many (limits::kFinishedRecords) and a history has them;
  // without a history (keep_minutes) they simply go.
  void record_is_kept(const std::string& batch);
  // From here on minutes are gathered, or no longer.
  void keep_minutes(bool on);
  // Every minute that is over; at the end (`running_too`) the running ones as well. One minute of
  // one probe may come in parts, to be added up.
  std::vector<MinuteMean> take_minutes(bool running_too = false);
  // What of one cabinet would come so: nothing is taken.
  std::vector<MinuteMean> minutes_so_far(const std::string& cabinet) const;
  bool has_output() const;

  std::optional<AlarmView> find(const AlarmKey& key) const override;
  std::vector<AlarmView> of_cabinet(const std::string& cabinet) const override;
  std::optional<CabinetView> view(const std::string& cabinet) const;
  std::vector<std::string> cabinets() const;  // every known id, sorted
  // Of known cabinets from the `from`-th on, at most so many: whoever goes through thousands takes
  // a part at a time. Their order stays; a new one comes last.
  std::vector<CabinetBrief> briefs(std::size_t from = 0, std::size_t most = SIZE_MAX) const;
  std::vector<CabinetView> views(std::size_t from, std::size_t most) const;
  std::vector<RuleInForce> rules_of(const std::string& cabinet) const;
  // Id and name of every profile that a batch can be started by, sorted by name.
  std::vector<std::pair<std::string, std::string>> profiles() const;
  // What was done with a batch, running or ended; of one that ended before records were kept, none.
  std::optional<BatchRecord> record(const std::string& batch) const;
  std::vector<std::string> records() const;  // ids of all of them, sorted
  // The schedule of a batch, where the configuration (still) has it.
  std::optional<Profile> profile_of(const std::string& batch) const;
  IntakeCounts counts() const;
  // Last readings are kept with whatever else changes; this keeps them all (a clean stop).
  void keep_readings();
  // The same for cabinets where a condition holds or an alarm is active: to be called every few
  // minutes, for after a crash the probe that speaks first must not decide alone.
  void keep_readings_of_alarms();

 private:
  void reach(Moment now);

  struct Parts;
  std::unique_ptr<Parts> parts_;
};

}  // namespace clutchward
