// A house for tests of the announcer: Saltmere with three people, alarms that can be set at will,
// both clocks, and a channel that takes what is due.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "notification/announcer.h"
#include "notification/wording.h"

namespace clutchward::house {

using namespace std::chrono_literals;

inline Wall at(const char* time) { return *parse_rfc3339(time); }

inline Settings saltmere() {
  Settings settings;
  settings.site = "Saltmere";
  settings.timezone = "Europe/Dublin";
  settings.cabinets["setter-a"].name = "Setter A";
  settings.cabinets["setter-b"].name = "Setter B";
  for (const char* name : {"mara", "jonas", "odile"}) {
    ChannelSettings webhook;
    webhook.webhook = WebhookChannel{};
    webhook.webhook->url = "http://127.0.0.1:9000/alert";
    settings.contacts[name].push_back(webhook);
  }
  settings.escalation = {{0s, {"mara"}}, {5min, {"jonas"}}, {15min, {"odile"}}};
  settings.everyone_after.reset();  // the last word has tests of its own
  return settings;
}

inline ChannelSettings email() {
  ChannelSettings channel;
  channel.email = EmailChannel{"mara@saltmere.example"};
  return channel;
}

inline Zone utc() { return Zone("UTC", {{Wall{}, 0s, "GMT"}}); }

class Alarms : public AlarmLookup {
 public:
  std::optional<AlarmView> find(const AlarmKey& key) const override {
    const auto found = views.find(key);
    return found == views.end() ? std::nullopt : std::optional(found->second);
  }
  std::vector<AlarmView> of_cabinet(const std::string& cabinet) const override {
    std::vector<AlarmView> list;
    for (const auto& [key, view] : views)
      if (key.cabinet == cabinet && view.state != AlarmState::normal) list.push_back(view);
    return list;
  }
  std::map<AlarmKey, AlarmView> views;
};

// The world of one test. Every deed happens at `now` and goes to the announcer in a call of its own
// unless `together` holds it.
struct House {
  explicit House(Settings with = saltmere(), Zone zone = utc())
      : settings(std::move(with)), announcer(settings, zone) {}

  Settings settings;
  Announcer announcer;
  Alarms alarms;
  Moment now{Steady(100h), at("2026-03-06T02:14:00Z"), true};
  std::vector<AlarmEvent> pending;
  bool together = false;
  int episodes = 0;

  AlarmView& alarm(const std::string& cabinet, const std::string& id, RuleKind kind,
                   Priority priority, std::optional<Milli> limit,
                   Quantity quantity = Quantity::temperature,
                   const std::string& batch = "hens-12") {
    AlarmView& view = alarms.views[{cabinet, batch, id}];
    view.key = {cabinet, batch, id};
    view.cabinet_name = cabinet.empty() ? "" : cabinet == "setter-b" ? "Setter B" : "Setter A";
    if (!batch.empty()) {
      view.batch_name = "Domestic hen";
      view.day = 4.76;
      view.stage = "setting";
      view.target = 37'500;
    }
    view.kind = kind;
    view.quantity = quantity;
    view.priority = priority;
    view.limit = limit;
    return view;
  }
  AlarmView& high(const std::string& cabinet = "setter-a") {
    return alarm(cabinet, "high", RuleKind::above, Priority::high, 39'500);
  }
  AlarmView& hot(const std::string& cabinet = "setter-a") {
    return alarm(cabinet, "hot", RuleKind::above, Priority::high, 38'900);
  }
  AlarmView& warm(const std::string& cabinet = "setter-a") {
    return alarm(cabinet, "warm", RuleKind::above, Priority::medium, 38'300);
  }

  // Never reminded of: what is left is its steps.
  AlarmView& low(const std::string& cabinet = "setter-a") {
    return alarm(cabinet, "cool", RuleKind::below, Priority::low, 35'000);
  }

  void happen(AlarmView& view, EventKind kind, const std::string& by = "") {
    AlarmEvent event;
    event.at = now.wall;
    event.key = view.key;
    event.kind = kind;
    event.value = view.value;
    event.limit = view.limit;
    event.worst = view.worst;
    if (!by.empty()) event.by = by;
    pending.push_back(event);
    if (!together) tell();
  }
  void tell() {
    announcer.tell(pending, alarms, now);
    pending.clear();
  }

  void raise(AlarmView& view, Milli value) {
    view.active = true;
    view.acknowledged = false;
    view.state = AlarmState::unacknowledged;
    view.value = view.worst = value;
    view.trend = Trend::rising;
    view.since = view.raised_at = now.wall;
    view.episode = "e" + std::to_string(++episodes);
    happen(view, EventKind::raised);
  }
  void raise(AlarmView& view) {
    raise(view, 0);
    view.value.reset();
  }
  void acknowledge(AlarmView& view, const std::string& by, bool holds = true) {
    view.acknowledged = true;
    view.acknowledged_by = by;
    view.acknowledged_at = now.wall;
    view.rings_again_at.reset();
    if (holds) view.rings_again_at = now.wall + std::chrono::minutes{30};  // of a high one
    view.state = AlarmState::acknowledged;
    happen(view, EventKind::acknowledged, by);
  }
  void ring_again(AlarmView& view) {
    view.acknowledged = false;
    view.snoozed_until.reset();
    view.state = AlarmState::unacknowledged;
    happen(view, EventKind::raised_again);
  }
  void worsen(AlarmView& view, Milli value) {
    view.value = view.worst = value;
    view.acknowledged = false;
    view.snoozed_until.reset();
    view.state = AlarmState::unacknowledged;
    happen(view, EventKind::worsened);
  }
  void snooze(AlarmView& view, const std::string& by, Span span) {
    view.snoozed_until = now.wall + span;
    view.snoozed_by = by;
    happen(view, EventKind::snoozed, by);
  }
  void give_back(AlarmView& view, Milli value) {  // returns
    view.active = false;
    view.value = value;
    view.trend = Trend::falling;
    view.returned_at = now.wall;
    view.state = view.acknowledged ? AlarmState::normal : AlarmState::returned;
    const std::string episode = view.episode;
    if (view.state == AlarmState::normal) view.episode.clear();
    happen(view, EventKind::returned);
  }
  void reset(AlarmView& view, const std::string& by) {
    view.state = AlarmState::normal;
    view.episode.clear();
    happen(view, EventKind::reset, by);
  }

  // Goes on by `span`, calling advance at each deadline on the way, and once at the end.
  std::vector<Notification> pass(Span span) {
    const Moment end{now.steady + span, now.wall + span, true};
    std::vector<Notification> all;
    for (auto due = announcer.next_deadline(); due && *due <= end.steady;
         due = announcer.next_deadline()) {
      const Span step = std::max(Span(0), *due - now.steady);
      now = {now.steady + step, now.wall + step, true};
      announcer.advance(alarms, now);
      for (Notification& note : out()) all.push_back(std::move(note));
    }
    now = end;
    announcer.advance(alarms, now);
    for (Notification& note : out()) all.push_back(std::move(note));
    return all;
  }

  // What is sent now; the channels take it unless `take` is false.
  std::vector<Notification> out(bool take = true) {
    keep();
    auto notes = announcer.take_due(now);
    for (const Notification& note : notes)
      if (take) announcer.report({note.id, Outcome::delivered, "200", std::nullopt}, alarms, now);
    keep();
    return notes;
  }

  // Makes durable what has changed.
  void keep() {
    for (Change& change : announcer.take_changes(now)) {
      if (change.value)
        store[change.key] = *change.value;
      else
        store.erase(change.key);
    }
    saved_at = now.wall;
  }
  std::vector<std::pair<std::string, Tree>> kept() const { return {store.begin(), store.end()}; }
  void restart() { announcer.restore(kept(), saved_at, now); }

  std::map<std::string, Tree> store;
  Wall saved_at{};
};

// "mara: TOO HOT ..." lines, in order.
inline std::vector<std::string> lines(const std::vector<Notification>& notes) {
  std::vector<std::string> text;
  for (const Notification& note : notes) text.push_back(note.contact + ": " + note.first_line);
  return text;
}

}  // namespace clutchward::house
