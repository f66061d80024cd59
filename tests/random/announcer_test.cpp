// Engine and announcer together in a hostile world, by seed, with the power cut at any effect of a
// turn: before its changes are durable, after that and before anything is sent, after some are
// sent.
#include "notification/announcer.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>
#include <map>
#include <set>

#include "world.h"

namespace clutchward::hostile {
namespace {

using namespace std::chrono_literals;

constexpr unsigned kSeeds = 150;

Settings with_people(Settings settings) {
  for (const char* name : {"mara", "jonas"}) {
    ChannelSettings channel;
    channel.email = EmailChannel{std::string(name) + "@saltmere.example"};
    settings.contacts[name] = {channel};
  }
  settings.smtp = {"smtp://127.0.0.1:2525", "clutchward@saltmere.example", "", "", ""};
  settings.escalation = {{0s, {"mara"}}, {5min, {"jonas"}}};
  return settings;
}

class House {
 public:
  explicit House(Settings settings) : settings_(std::move(settings)) {
    start();
    engine_->begin();
    save();
  }

  enum class Cut { none, before_save, after_save, while_sending };

  void turn(const Step& step, Cut cut, Dice& dice) {
    at_ = std::max(at_, step.after);
    if (step.what == What::command)
      engine_->command(step.command, step.retained, now());
    else if (step.what == What::message)
      engine_->message(step.topic, step.payload, step.retained, now());
    const auto events = engine_->take_events();
    note_quiet(events);
    announcer_->tell(events, *engine_, now());
    for (const std::string& cabinet : engine_->take_attending_ended())
      announcer_->attending_ended(cabinet, *engine_, now());
    announcer_->advance(*engine_, now());
    if (cut == Cut::before_save) return restart();  // this turn has never been
    save();
    if (cut == Cut::after_save) return restart();
    send(cut == Cut::while_sending, dice);
    if (cut == Cut::while_sending) restart();
  }

  // Nobody does anything more and every channel works: what is owed goes out.
  void finish(Dice& dice) {
    for (int i = 0; i < 40; ++i) {
      at_ += 10min;
      engine_->settle(now());
      const auto events = engine_->take_events();
      note_quiet(events);
      announcer_->tell(events, *engine_, now());
      announcer_->advance(*engine_, now());
      save();
      send(false, dice, true);
    }
    for (const auto& [id, unused] : owed_) ADD_FAILURE() << id << " was durable and never went out";
  }

  std::size_t sent() const { return sent_; }

 private:
  Moment now() const { return {kBoot + at_, kStart + at_, true}; }

  void start() {
    engine_ = std::make_unique<Engine>(settings_, Zone(), now(), true);
    announcer_ = std::make_unique<Announcer>(settings_, Zone());
  }

  void save() {
    auto changes = engine_->take_changes();
    for (Change& change : announcer_->take_changes(now())) changes.push_back(std::move(change));
    for (Change& change : changes) {
      if (change.value)
        kept_[change.key] = std::move(*change.value);
      else
        kept_.erase(change.key);
    }
    for (const auto& each : announcer_->waiting()) owed_.try_emplace(each.id, false);
  }

  void restart() {
    start();
    const std::vector<std::pair<std::string, Tree>> kept(kept_.begin(), kept_.end());
    engine_->restore(kept, now().wall);
    announcer_->restore(kept, now().wall, now());
    engine_->begin();
    snoozed_.clear();
    for (const std::string& cabinet : engine_->cabinets())
      for (const AlarmView& view : engine_->of_cabinet(cabinet))
        if (view.snoozed_until) snoozed_.insert(view.key);
    std::set<std::string> waiting;
    for (const auto& each : announcer_->waiting()) waiting.insert(each.id);
    for (const auto& [id, unused] : owed_)
      ASSERT_TRUE(waiting.contains(id)) << id << " was durable and is lost";
    const auto events = engine_->take_events();
    note_quiet(events);
    announcer_->tell(events, *engine_, now());
    save();
  }

  void send(bool cut_short, Dice& dice, bool all_works = false) {
    for (const Notification& message : announcer_->take_due(now())) {
      ASSERT_TRUE(owed_.contains(message.id)) << message.id << " goes out before it is durable";
      expect_no_snoozed_raise(message);
      if (cut_short && dice.one_in(2)) return;  // the channel has it, nobody heard of it
      DeliveryReport report;
      report.id = message.id;
      if (!all_works && dice.one_in(3)) report.outcome = Outcome::try_again;
      announcer_->report(report, *engine_, now());
      if (report.outcome != Outcome::delivered) continue;
      owed_.erase(message.id);
      ++sent_;
    }
    if (!cut_short) return save();
    // What was delivered is not known to be: it goes out again, which loses nothing.
    for (const auto& [key, unused] : kept_)
      if (key.starts_with("outbox/")) owed_.try_emplace(key.substr(7), false);
  }

  // Once the snooze is over, reminders may well speak of the time at which it was raised.
  void expect_no_snoozed_raise(const Notification& message) {
    if (message.made_at != now().wall) return;
    for (const AlarmEvent& event : message.events) {
      if (event.kind != EventKind::raised || !quiet_.contains({event.key, event.at})) continue;
      const auto view = engine_->find(event.key);
      EXPECT_FALSE(view && view->snoozed_until)
          << event.key.alarm << " was raised in a snooze and is told: " << message.message;
    }
  }

  // In the order of the events: one turn may raise an alarm and then snooze it.
  void note_quiet(const std::vector<AlarmEvent>& events) {
    for (const AlarmEvent& event : events) {
      switch (event.kind) {
        case EventKind::snoozed:
          snoozed_.insert(event.key);
          break;
        case EventKind::raised_again:
        case EventKind::snooze_ended:
        case EventKind::worsened:
        case EventKind::reset:
          snoozed_.erase(event.key);
          break;
        case EventKind::raised:
          if (snoozed_.contains(event.key)) quiet_.insert({event.key, event.at});
          break;
        default:
          break;
      }
    }
  }

  Settings settings_;
  std::unique_ptr<Engine> engine_;
  std::unique_ptr<Announcer> announcer_;
  Span at_{0};
  std::map<std::string, Tree> kept_;
  std::map<std::string, bool> owed_;
  std::set<AlarmKey> snoozed_;
  std::set<std::pair<AlarmKey, Wall>> quiet_;
  std::size_t sent_ = 0;
};

TEST(RandomAnnouncements, NothingDurableIsLostAtAnyCut) {
  const char* count = std::getenv("RANDOM_SEEDS");
  const char* from = std::getenv("RANDOM_FIRST");
  const unsigned first = from != nullptr ? static_cast<unsigned>(std::atoi(from)) : 1;
  const unsigned seeds = count != nullptr ? static_cast<unsigned>(std::atoi(count)) : kSeeds;
  std::size_t sent = 0;
  for (unsigned seed = first; seed < first + seeds && !HasFailure(); ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    Dice dice(seed);
    const Settings settings = with_people(random_settings(dice));
    const auto steps =
        random_steps(settings, {.link = false, .wall_steps = false, .configure = false}, dice);
    House house(settings);
    for (const Step& step : steps) {
      const int cut = dice.below(60);
      house.turn(step, cut < 3 ? static_cast<House::Cut>(cut + 1) : House::Cut::none, dice);
      if (HasFailure()) return;
    }
    house.finish(dice);
    sent += house.sent();
  }
  EXPECT_GT(sent, 0u);
}

}  // namespace
}  // namespace clutchward::hostile
