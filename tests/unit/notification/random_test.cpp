// The announcer in a hostile world, by seed: random alarms, people, channels and restarts. A twin
// that is restarted at random points must say the same as the one that never was.
#include <gtest/gtest.h>

#include <cstdlib>
#include <random>
#include <regex>
#include <set>

#include "house.h"
#include "notification/ladder.h"

namespace clutchward {
namespace {

using namespace house;

class World {
 public:
  explicit World(unsigned seed) : random_(seed) {
    settings_ = saltmere();
    settings_.contacts["mara"].push_back(email());
    if (chance(4)) settings_.gather = 0s;
    if (chance(3)) settings_.show = Show::fahrenheit;
    settings_.cabinets["setter-a"].name = "Große Brutmaschine im alten Stall hinter dem Haus 3";
    house_ = std::make_unique<House>(settings_);
    twin_ = std::make_unique<Announcer>(settings_, utc());
    for (const char* cabinet : {"setter-a", "setter-b", "hatcher"}) {
      add(cabinet, "overheat", RuleKind::above, Priority::high, 41'000);
      add(cabinet, "high", RuleKind::above, Priority::high, 39'500);
      add(cabinet, "warm", RuleKind::above, Priority::medium, 38'300);
      add(cabinet, "low", RuleKind::below, Priority::high, 34'500);
      add(cabinet, "cool", RuleKind::below, Priority::medium, 36'100);
      add(cabinet, "turning", RuleKind::turning, Priority::medium, {});
      add(cabinet, "silent", RuleKind::silent, Priority::low, {});
    }
    add("", "broker", RuleKind::broker, Priority::high, {});
  }

  void step() {
    House& h = *house_;
    AlarmView& view = *views_[random_() % views_.size()];
    h.together = true;
    switch (random_() % 12) {
      case 0:
      case 1:
      case 2:
        raise(view);
        break;
      case 3:
        if (rings(view)) h.acknowledge(view, person());
        break;
      case 4:
        if (view.active) h.snooze(view, person(), 30min);
        break;
      case 5:
        if (view.active && (view.snoozed_until || view.acknowledged)) h.ring_again(view);
        break;
      case 6:
        if (view.active) h.give_back(view, 37'500);
        break;
      case 7:
        if (!view.active && view.state == AlarmState::returned) h.reset(view, person());
        break;
      case 8:
        if (view.active && view.limit) h.worsen(view, *view.limit + away(view));
        break;
      case 9:
        if (rings(view)) h.happen(view, EventKind::passed_on, person());
        break;
      case 10:
        attend(view.key.cabinet);
        break;
      default:
        wait();
    }
    tell();
    send();
    if (chance(5)) restart_twin();
  }

  // Nothing more happens, every channel takes all: nothing may be left.
  void end() {
    taking_all_ = true;
    for (AlarmView* view : views_)
      if (rings(*view)) house_->acknowledge(*view, "odile");
    tell();
    for (int i = 0; i < 30; ++i) {
      now(10min);
      advance();
      send();
    }
    EXPECT_TRUE(house_->announcer.waiting().empty());
    EXPECT_EQ(made_, delivered_);
  }

 private:
  bool chance(unsigned in) { return random_() % in == 0; }
  std::string person() {
    static const char* const people[] = {"mara", "jonas", "odile", "the page"};
    return people[random_() % 4];
  }
  Milli away(const AlarmView& view) {
    const auto by = static_cast<Milli>(1 + random_() % 3'000);
    return view.kind == RuleKind::below ? -by : by;
  }

  void add(const char* cabinet, const char* id, RuleKind kind, Priority priority,
           std::optional<Milli> limit) {
    const std::string batch = limit && std::string(id) != "overheat" ? "hens-12" : "";
    AlarmView& view =
        house_->alarm(cabinet, id, kind, priority, limit, Quantity::temperature, batch);
    view.cabinet_name.clear();  // the configuration has it
    views_.push_back(&view);
  }

  void raise(AlarmView& view) {
    if (view.active) return;
    House& h = *house_;
    if (view.limit)
      h.raise(view, *view.limit + away(view));
    else
      h.raise(view);
    if (view.priority == Priority::high && !view.snoozed_until && !view.attending)
      due_[view.key] = h.now.steady + (flood_ ? 500ms : 0ms);
  }

  void attend(const std::string& cabinet) {
    bool attending = false;
    for (AlarmView* view : views_) {
      if (view->key.cabinet != cabinet || view->kind == RuleKind::above) continue;
      view->attending = !view->attending;
      attending = attending || view->attending;
    }
    if (attending) return;
    house_->announcer.attending_ended(cabinet, house_->alarms, house_->now);
    twin_->attending_ended(cabinet, house_->alarms, house_->now);
  }

  void now(Span span) {
    house_->now = {house_->now.steady + span, house_->now.wall + span, true};
    for (AlarmView* view : views_)
      if (view->snoozed_until && *view->snoozed_until <= house_->now.wall) {
        view->snoozed_until.reset();
        if (view->active) {
          view->acknowledged = false;
          house_->happen(*view, EventKind::raised_again);
        }
      }
    tell();
  }

  void wait() {
    const Span until = std::chrono::milliseconds(random_() % 600'000);
    const Steady end = house_->now.steady + until;
    for (int i = 0; i < 50; ++i) {
      const auto due = house_->announcer.next_deadline();
      ASSERT_EQ(due, twin_->next_deadline());
      if (!due || *due > end) break;
      now(std::max(Span(0), *due - house_->now.steady));
      advance();
      send();
      if (chance(4)) restart_twin();
    }
    if (house_->now.steady < end) now(end - house_->now.steady);
    advance();
  }

  void tell() {
    const auto events = std::exchange(house_->pending, {});
    house_->announcer.tell(events, house_->alarms, house_->now);
    twin_->tell(events, house_->alarms, house_->now);
  }
  void advance() {
    house_->announcer.advance(house_->alarms, house_->now);
    twin_->advance(house_->alarms, house_->now);
  }

  // Until nothing is due: a failing channel makes new messages.
  void send() {
    while (send_once() && !testing::Test::HasFailure()) {
    }
  }

  bool send_once() {
    bool any = false;
    send_once(any);
    return any;
  }

  void send_once(bool& any) {
    Announcer& one = house_->announcer;
    save(one, nullptr);
    save(*twin_, &store_);
    const auto notes = one.take_due(house_->now);
    ASSERT_EQ(notes, twin_->take_due(house_->now));
    any = !notes.empty();
    for (const Notification& note : notes) {
      if (made_.insert(note.id).second) look(note);
      if (note.contact == "mara" && note.urgency == Urgency::high)
        for (const AlarmEvent& event : note.events) due_.erase(event.key);
      DeliveryReport report{note.id, outcome(), "answer", std::nullopt};
      if (report.outcome == Outcome::delivered) delivered_.insert(note.id);
      one.report(report, house_->alarms, house_->now);
      twin_->report(report, house_->alarms, house_->now);
    }
    std::erase_if(due_, [&](const auto& due) {
      const AlarmView& view = house_->alarms.views.at(due.first);
      return !rings(view) || view.attending;
    });
    for (const auto& [key, by] : due_)
      EXPECT_GT(by, house_->now.steady) << key.cabinet << " " << key.alarm;
    save(one, nullptr);
    save(*twin_, &store_);
  }

  Outcome outcome() {
    if (taking_all_ || !chance(4)) return Outcome::delivered;
    return chance(4) ? Outcome::failed : Outcome::try_again;
  }

  void save(Announcer& announcer, std::map<std::string, Tree>* store) {
    const auto changes = announcer.take_changes(house_->now);
    if (store == nullptr) return;
    for (const Change& change : changes)
      if (change.value)
        (*store)[change.key] = *change.value;
      else
        store->erase(change.key);
  }

  void restart_twin() {
    save(*twin_, &store_);
    save(house_->announcer, nullptr);
    twin_ = std::make_unique<Announcer>(settings_, utc());
    twin_->restore({store_.begin(), store_.end()}, house_->now.wall, house_->now);
  }

  // What holds of every message, whatever it says.
  void look(const Notification& note) {
    static const std::regex figures(
        "(TOO HOT|TOO COLD) .+ (-?[0-9]+\\.[0-9]+) [CF]( rising| falling)? "
        "\\((max|min) ([0-9.]+)\\) since ([0-9]+ [A-Z][a-z]{2} )?[0-9]{2}:[0-9]{2}( \\+[0-9]+ "
        "more)?(\\. [A-Z][A-Za-z ]+)?");
    EXPECT_LE(note.first_line.size(), kFirstLine);
    EXPECT_EQ(plain(note.first_line), note.first_line);
    EXPECT_EQ(note.message.back(), '\n');
    EXPECT_TRUE(valid_utf8(note.message));
    if (note.contact == "mara" && note.message.find("More than 10 alarms") != std::string::npos)
      flood_ = true;
    if (note.contact == "mara" && note.message.find("Fewer than 5 alarms") != std::string::npos)
      flood_ = false;
    if (note.urgency == Urgency::quiet || note.thread.starts_with("chatter/")) return;
    const AlarmView& view = house_->alarms.views.at(note.subject);
    EXPECT_TRUE(rings(view)) << note.first_line;
    EXPECT_EQ(note.urgency, urgency_of(view.priority));
    if (!view.limit || note.first_line.find("FLOOD") != std::string::npos) return;
    std::smatch parts;
    ASSERT_TRUE(std::regex_match(note.first_line, parts, figures)) << note.first_line;
    const double scale = settings_.show == Show::celsius ? 1.0 : 1.8;
    const double zero = settings_.show == Show::celsius ? 0.0 : 32.0;
    EXPECT_NEAR(std::stod(parts[2]), *view.value / 1000.0 * scale + zero, 0.0501);
    EXPECT_NEAR(std::stod(parts[5]), *view.limit / 1000.0 * scale + zero, 0.0501);
    EXPECT_NE(parts[2], parts[5]);
  }

  std::mt19937 random_;
  Settings settings_;
  std::unique_ptr<House> house_;
  std::unique_ptr<Announcer> twin_;
  std::map<std::string, Tree> store_;
  std::vector<AlarmView*> views_;
  // Raised high: step 1 must hear of it in this call, in a flood within half a second.
  std::map<AlarmKey, Steady> due_;
  bool flood_ = false;  // as mara was told
  std::set<std::string> made_;
  std::set<std::string> delivered_;
  bool taking_all_ = false;
};

TEST(Random, NothingIsLostNothingIsSaidOutOfTurn) {
  const char* count = std::getenv("RANDOM_SEEDS");
  const unsigned last = count == nullptr ? 20 : static_cast<unsigned>(std::atoi(count));
  for (unsigned seed = 1; seed <= last; ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    World world(seed);
    for (int i = 0; i < 150 && !testing::Test::HasFailure(); ++i) world.step();
    world.end();
    if (testing::Test::HasFailure()) break;
  }
}

}  // namespace
}  // namespace clutchward
