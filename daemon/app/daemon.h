// The daemon: builds every part, brings inputs to the engine and carries its decisions out. One
// turn of its loop: wait, take the time once, take what came, decide, make durable, and only then
// tell.
#pragma once

#include <atomic>
#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "app/absence.h"
#include "app/beats.h"
#include "app/deliveries.h"
#include "app/pending.h"
#include "app/reply_desk.h"
#include "app/ring_board.h"
#include "app/service_faults.h"
#include "app/task_round.h"
#include "app/test_round.h"
#include "app/told_book.h"
#include "base/time.h"
#include "cabinet/settings.h"
#include "channel/outward.h"
#include "config/problem.h"
#include "engine/engine.h"
#include "ingest/inbox.h"
#include "ingest/mqtt_client.h"
#include "loop/clocks.h"
#include "loop/event_loop.h"
#include "loop/service.h"
#include "notification/announcer.h"
#include "store/history.h"
#include "store/history_reader.h"
#include "store/store.h"
#include "web/server.h"

namespace clutchward {

struct DaemonOptions {
  std::string config;
  std::string state;
  std::vector<std::string> profiles;  // folders
  // By id: where each profile that came from a file of its own stands.
  std::map<std::string, std::string> profile_files = {};
};

class Daemon {
 public:
  // `settings` and `zone` as loaded from options.config; `kept` and `store` as opened.
  Daemon(DaemonOptions options, Settings settings, Zone zone, EventLoop& loop, Store::Start store);
  ~Daemon();
  Daemon(const Daemon&) = delete;
  Daemon& operator=(const Daemon&) = delete;

  // Runs until it is told to stop. The exit code.
  int run();

 private:
  Moment time();
  void turn(const Wake& wake);
  void make_rounds(Moment now);
  std::optional<Steady> next_deadline() const;

  // daemon_inputs.cpp
  void take_messages(Moment now);
  void take_message(const Incoming& item);
  void forget_subscriptions(Moment now);
  void take_link(const Incoming& item, Moment now);
  Reply carry_out(const Command& command, bool retained, Moment now);
  void take_command(const Incoming& item);
  void take_reports(Moment now);
  void take_replies(Moment now);
  void watch_the_watch(const Wake& wake, Moment now);
  void look_at_the_store();
  void reload(Moment now);
  void serve_page(Moment now);
  void look_after_the_page(Moment now);
  void tell_of_changed_batches(Moment now);
  std::optional<std::string> saving_trouble(Moment now);

  // daemon_effects.cpp
  void decide(Moment now);
  void keep(Moment now);
  void carry_out(Moment now);
  void publish_pictures(Moment now);
  void publish_status_line();
  // Everything: the running minutes and every record too, whatever the time.
  void keep_history(Moment now, bool everything);
  void start_history();
  void keep_records(Moment now, bool everything);
  void burst(Moment now);
  void give_memory_back(Moment now);
  void owe_records(const std::string& path);

  // daemon_watch.cpp
  void give_daily_line(Moment now);
  void note_daily(Wall at);
  void restore_daily(const Kept& kept);
  void give_tasks(Moment now);
  void tell_whom_the_day_concerns(const Notification& note, Moment now);
  void give_beats(Moment now);

  // daemon_planned.cpp
  static constexpr const char* kTestKey = "site/test";
  void give_test(Moment now);
  // daemon_ring.cpp
  void take_ring_reports(Moment now);
  void ring(Moment now);

  // daemon_faults.cpp
  void watch_the_limits(Moment now);
  void watch_the_channels(Moment now);
  void tell_past_dead_channels(const std::string& detail, Moment now);
  void watch_the_clock(Moment now);
  void watch_the_pace(Moment now);

  // daemon_absence.cpp
  std::optional<Wall> sign_of_life(Moment now) const;
  void give_sign_of_life(Moment now);
  void look_for_absence(Moment now);
  void restore_faults(const Kept& kept, Moment now);

  // daemon_parts.cpp
  MqttOptions mqtt_options() const;
  std::vector<std::string> filters() const;
  WebDoor web_door();
  WatchView watch_view() const;
  std::vector<RuleInForce> rules_of(const std::string& cabinet) const;

  // daemon_history.cpp
  void ask_curve(CurveWanted wanted, std::function<void(Curve)> done);
  HistoryRows waiting_of(const std::vector<std::string>& cabinets) const;
  void recall_events();
  void note_told(const Notification& message, Moment now);
  void note_report(const DeliveryReport& report, Moment now);
  // daemon_papers.cpp
  void ask_report(ReportWanted wanted, std::function<void(Report)> done);
  void ask_events(EventsWanted wanted, std::function<void(Events)> done);
  void commit_history(std::function<void(std::string)> done);
  void restore(const Kept& kept, Moment now);

  DaemonOptions options_;
  Settings settings_;
  Zone zone_;
  EventLoop& loop_;
  std::unique_ptr<Store> store_;
  std::string client_id_;
  Inbox inbox_;
  GatherPace pace_;
  StepDetector steps_;
  Watchdog watchdog_;
  std::optional<Wall> last_saved_;  // or seen alive, of the run before
  bool wall_trusted_ = false;

  std::unique_ptr<Engine> engine_;
  std::unique_ptr<Announcer> announcer_;
  std::unique_ptr<ServiceFaults> faults_;
  std::unique_ptr<MqttClient> mqtt_;
  std::unique_ptr<Outward> outward_;
  std::unique_ptr<WebServer> web_;
  std::shared_ptr<History> history_;       // none: off; a thread that waits for it holds it, too
  std::unique_ptr<HistoryReader> reader_;  // of curves
  std::unique_ptr<HistoryReader> papers_;  // of reports and what happened
  HistoryRows history_rows_;
  ToldBook told_;
  bool told_marked_ = false;                 // the history knows since when it is kept
  Steady history_at_{};                      // rows are handed over then
  std::set<std::string> changed_records_;    // batches whose record the history owes
  Steady records_at_{};                      // they are written then ...
  std::optional<std::string> records_done_;  // ... in rounds: up to this id; none: no round runs
  std::map<std::string, int> handed_;        // records in the hands of the history's thread
  std::optional<Steady> trim_at_;            // memory of a burst goes back to the system then
  std::size_t trims_ = 0;                    // so many times it went since the burst

  std::uint64_t turn_ = 0;
  Pending pending_;
  StoreStatus store_status_;  // as last looked at
  Steady probe_again_{};
  std::uint64_t saved_seen_ = 0;     // how far the store was ...
  Steady saved_moved_at_{};          // ... when it last moved, or had nothing to do
  std::vector<OwedAnswer> answers_;  // of this turn
  std::vector<AlarmEvent> events_;   // of this turn
  Steady pictures_at_{};             // not before
  std::chrono::microseconds pause_{0};
  // A count of what was lost, and when it last rose.
  struct Losses {
    std::uint64_t seen = 0;
    Steady at{};
  };
  bool rose(Losses& losses, std::uint64_t count, Steady now);
  Losses readings_lost_;
  Losses messages_lost_;
  Losses cabinets_lost_;
  std::optional<Steady> page_again_;  // none: it is served as configured
  Steady readings_at_{};              // those of cabinets with alarms are kept then
  Steady limits_at_{};                // looked at then
  Steady channels_at_{};              // looked at then
  std::uint64_t proofs_fed_ = 0;
  bool linked_ = false;
  Steady linked_changed_at_{};
  std::string broker_trouble_;
  Deliveries deliveries_;
  RingBoard rings_;
  std::uint64_t rings_seen_ = 0;  // the announcer's version
  Beats beats_;
  std::unique_ptr<Outward> outside_;  // carries the beats: none of them delays a message
  std::uint64_t beats_given_ = 0;
  Steady rounds_at_{};  // calendars and channels are looked at then
  std::optional<Wall> daily_told_;
  TaskRound tasks_;
  TestRound test_round_;
  Steady test_at_{};  // looked at then
  ReplyDesk replies_;
  std::string replies_trouble_;  // as last logged ...
  std::optional<Steady> replies_failing_since_;
  std::optional<Span> stepped_;  // the wall clock, not told yet
  std::optional<Steady> last_turn_;
  Steady late_at_{};
  Steady started_{};
  AbsenceLook absence_{std::nullopt, {}};
  Steady alive_at_{};                // the next sign of life is due then
  std::vector<Change> own_changes_;  // the daemon's own keys
};

}  // namespace clutchward
