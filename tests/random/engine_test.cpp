// The engine in a hostile world, by seed: seeds 1 to RANDOM_SEEDS (from RANDOM_FIRST). A failure
// prints its seed; the same seed fails the same way again.
#include <gtest/gtest.h>

#include <algorithm>
#include <cstdlib>
#include <functional>
#include <tuple>

#include "checker.h"
#include "reading/decode.h"
#include "wire/event_json.h"
#include "wire/picture_json.h"
#include "world.h"

namespace clutchward::hostile {
namespace {

using namespace std::chrono_literals;

// The five tests together take about half of a minute on one slow core with so many.
constexpr unsigned kSeeds = 250;

unsigned number(const char* name, unsigned otherwise) {
  const char* text = std::getenv(name);
  return text != nullptr ? static_cast<unsigned>(std::strtoul(text, nullptr, 10)) : otherwise;
}

void for_each_seed(const std::function<void(unsigned)>& play) {
  const unsigned first = number("RANDOM_FIRST", 1);
  const unsigned last = first + number("RANDOM_SEEDS", kSeeds) - 1;
  for (unsigned seed = first; seed <= last && !::testing::Test::HasFailure(); ++seed) {
    SCOPED_TRACE("seed " + std::to_string(seed));
    play(seed);
  }
}

// One engine and its clocks, played step by step.
class Play {
 public:
  Play(const Settings& settings, unsigned seed) : settings_(settings), dice_(seed) { fresh(); }

  Moment now() const { return {kBoot + at_, kStart + at_ + shift_, true}; }
  Span at() const { return at_; }
  Engine& engine() { return *engine_; }

  // To the time of a step, without any other effect than what was due before.
  void reach(Span after) {
    at_ = std::max(at_, after);
    engine_->message("nobody/listens", "", false, now());
  }

  Reply take(const Step& step) {
    reach(step.after);
    switch (step.what) {
      case What::message:
        engine_->message(step.topic, step.payload, step.retained, now());
        break;
      case What::command:
        return engine_->command(step.command, step.retained, now());
      case What::link:
        engine_->link(linked_ = step.up, now());
        break;
      case What::wall_step:
        shift_ += step.jump;
        engine_->message("nobody/listens", "", false, now());
        break;
      case What::configure:
        settings_ = changed(settings_, dice_);
        engine_->configure(settings_, Zone(), now());
        break;
    }
    return {};
  }

  void settle(Span after) {
    at_ = std::max(at_, after);
    engine_->settle(now());
  }

  void keep() {
    for (Change& change : engine_->take_changes()) {
      if (change.value)
        kept_[change.key] = std::move(*change.value);
      else
        kept_.erase(change.key);
    }
  }

  // As after a stop at this instant. The boot clock of the new run is its own.
  std::vector<std::string> restart() {
    fresh();
    const auto findings = engine_->restore({kept_.begin(), kept_.end()}, now().wall);
    engine_->begin();
    return findings;
  }

 private:
  void fresh() {
    const bool first = engine_ == nullptr;
    engine_ = std::make_unique<Engine>(settings_, Zone(), now(), linked_);
    if (first) engine_->begin();
  }

  Settings settings_;
  Dice dice_;
  std::unique_ptr<Engine> engine_;
  Span at_{0};
  Span shift_{0};
  bool linked_ = true;
  std::map<std::string, Tree> kept_;
};

std::string picture_of(Engine& engine) {
  std::string all;
  for (const std::string& id : engine.cabinets()) {
    CabinetView view = *engine.view(id);
    view.trend = Trend::unknown;  // not kept: a restart forgets which way it went
    for (AlarmView& alarm : view.alarms) alarm.trend = Trend::unknown;
    // Nor are retained values: the broker has them.
    std::erase_if(view.probes, [](const ProbeView& probe) { return !probe.at; });
    std::sort(view.probes.begin(), view.probes.end(), [](const ProbeView& x, const ProbeView& y) {
      return std::tie(x.probe, x.quantity) < std::tie(y.probe, y.quantity);
    });
    all += to_json(view) + "\n";
  }
  return all;
}

// Where two pictures part, with what stands around it.
std::string difference(const std::string& a, const std::string& b) {
  if (a == b) return {};
  const auto at = std::mismatch(a.begin(), a.end(), b.begin(), b.end()).first - a.begin();
  const auto from = static_cast<std::size_t>(std::max<std::ptrdiff_t>(0, at - 250));
  return a.substr(from, 350) + "\n against\n" + b.substr(from, 350);
}

std::vector<std::string> lines(const std::vector<AlarmEvent>& events) {
  std::vector<std::string> all;
  for (const AlarmEvent& event : events) all.push_back(to_json(event));
  return all;
}

std::string joined(const std::vector<std::string>& lines_of_text) {
  std::string all;
  for (const std::string& line : lines_of_text) all += line + "\n";
  return all;
}

void append(std::vector<std::string>& into, Engine& engine) {
  for (std::string& line : lines(engine.take_events())) into.push_back(std::move(line));
}

struct World {
  Settings settings;
  std::vector<Step> steps;
  World(unsigned seed, const Wishes& wishes) {
    Dice dice(seed);
    settings = random_settings(dice);
    steps = random_steps(settings, wishes, dice);
  }
};

TEST(Random, SameSeedSameEventsAndDeadlinesHonoured) {
  std::size_t events = 0;
  for_each_seed([&](unsigned seed) {
    const World world(seed, {});
    std::vector<std::string> plain;
    std::vector<std::string> busy;  // woken at every deadline, and now and then for nothing
    Play first(world.settings, seed);
    Play second(world.settings, seed);
    Dice dice(seed + 1'000'000);
    for (const Step& step : world.steps) {
      first.take(step);
      append(plain, first.engine());
      while (const auto next = second.engine().next_deadline()) {
        // What an input has made due at once fires at the next turn, at the present.
        const Span at = std::max(*next - kBoot, second.at());
        if (at >= std::max(step.after, second.at())) break;
        second.settle(at);
        const auto after = second.engine().next_deadline();
        ASSERT_TRUE(!after || *after > second.now().steady) << "a deadline in the past";
        append(busy, second.engine());
      }
      if (dice.one_in(3) && step.after > second.at() + 1ms)
        second.settle(second.at() +
                      1ms * dice.below(static_cast<int>((step.after - second.at()).count())));
      second.take(step);
      append(busy, second.engine());
    }
    for (Play* each : {&first, &second}) each->settle(each->at() + 30min);
    append(plain, first.engine());
    append(busy, second.engine());
    ASSERT_EQ(difference(joined(plain), joined(busy)), "");
    ASSERT_EQ(difference(picture_of(first.engine()), picture_of(second.engine())), "");
    events += plain.size();
  });
  EXPECT_GT(events, 0u);
}

TEST(Random, EventsFollowTheTableAndLatchesAreAPersons) {
  for_each_seed([&](unsigned seed) {
    const World world(seed, {});
    Play play(world.settings, seed);
    Transitions transitions;
    std::map<std::string, bool> latched;
    Dice dice(seed + 2'000'000);
    for (std::size_t i = 0; i < world.steps.size(); ++i) {
      play.take(world.steps[i]);
      const auto events = play.engine().take_events();
      std::map<std::string, bool> reset;
      for (const AlarmEvent& event : events) {
        ASSERT_EQ(transitions.take(event), "") << "step " << i;
        if (event.kind == EventKind::reset) reset[Transitions::name(event.key)] = true;
      }
      play.keep();
      // The power goes: what was told is what the next run knows.
      if (dice.one_in(40)) {
        ASSERT_EQ(play.restart(), std::vector<std::string>{}) << "step " << i;
        for (const AlarmEvent& event : play.engine().take_events())
          ASSERT_EQ(transitions.take(event), "") << "restart after step " << i;
        play.keep();
      }
      std::map<std::string, bool> now;
      for (const std::string& cabinet : play.engine().cabinets()) {
        for (const AlarmView& alarm : play.engine().of_cabinet(cabinet)) {
          const std::string name = Transitions::name(alarm.key);
          SCOPED_TRACE(name + ", step " + std::to_string(i));
          const Told* told = transitions.find(alarm.key);
          now[name] = alarm.latched;
          ASSERT_EQ(alarm.active, told != nullptr && told->active);
          ASSERT_EQ(alarm.snoozed_until.has_value(), told != nullptr && told->snoozed);
          if (alarm.active) {
            ASSERT_EQ(alarm.acknowledged, told->acknowledged);
          }
          if (alarm.state == AlarmState::out_of_service) {
            ASSERT_TRUE(told->out);
          }
        }
      }
      for (const auto& [name, was] : latched)
        if (was && !now[name]) {
          ASSERT_TRUE(reset[name]) << name << " lost its latch at step " << i;
        }
      latched = now;
    }
  });
}

TEST(Random, ARefusedCommandChangesNothing) {
  std::size_t refused = 0;
  for_each_seed([&](unsigned seed) {
    const World world(seed, {});
    Play play(world.settings, seed);
    for (const Step& step : world.steps) {
      if (step.what != What::command) {
        play.take(step);
        continue;
      }
      play.reach(step.after);
      play.keep();
      play.engine().take_events();
      const std::string before = picture_of(play.engine());
      const auto deadline = play.engine().next_deadline();
      const Reply reply = play.take(step);
      ASSERT_EQ(reply.id, step.command.id);
      ASSERT_EQ(reply.ok, reply.why.empty());
      if (reply.ok) continue;
      ++refused;
      ASSERT_EQ(difference(before, picture_of(play.engine())), "") << reply.why;
      ASSERT_EQ(play.engine().next_deadline(), deadline) << reply.why;
      ASSERT_TRUE(play.engine().take_events().empty()) << reply.why;
      for (const Change& change : play.engine().take_changes())
        ASSERT_EQ(change.key, "commands/" + step.command.id) << reply.why;
    }
  });
  EXPECT_GT(refused, 0u);
}

TEST(Random, RestoredIsContinued) {
  for_each_seed([&](unsigned seed) {
    // Link and wall steps stand in the other tests: a restart loses the link, and places times by
    // the wall clock.
    const World world(seed, {.link = false, .wall_steps = false});
    std::vector<std::string> through;
    std::vector<std::string> stopped;
    Play first(world.settings, seed);
    Play second(world.settings, seed);
    Dice dice(seed + 3'000'000);
    for (std::size_t i = 0; i < world.steps.size(); ++i) {
      first.take(world.steps[i]);
      append(through, first.engine());
      second.take(world.steps[i]);
      append(stopped, second.engine());
      if (dice.one_in(10)) {
        // The turn ends first: a start does at once what is due at its very instant.
        first.settle(first.at());
        append(through, first.engine());
        second.settle(second.at());
        append(stopped, second.engine());
        second.engine().keep_readings();
        second.keep();
        ASSERT_EQ(second.restart(), std::vector<std::string>{});
        append(stopped, second.engine());
        ASSERT_EQ(difference(picture_of(first.engine()), picture_of(second.engine())), "")
            << "step " << i;
      } else {
        second.keep();
      }
      ASSERT_EQ(difference(joined(through), joined(stopped)), "") << "step " << i;
    }
  });
}

// The one probe of cabinet b, as the oracle hears it.
void hear(DelayOracle& oracle, const Step& step, Span at, Milli offset) {
  oracle.reach(at);
  if (step.what != What::message || step.topic != "farm/b/top/temperature" || step.retained) return;
  const auto decoded = decode_plain(step.payload, Quantity::temperature, Unit::own);
  if (const Milli* value = std::get_if<Milli>(&decoded)) oracle.reading(at, *value + offset);
}

TEST(Random, RaisedOnlyByAConditionTrueForTheWholeDelay) {
  std::size_t raised = 0;
  for_each_seed([&](unsigned seed) {
    const World world(seed, {.configure = false});
    const RulePatch& patch = world.settings.rules.at(kWatched);
    DelayOracle::Rule rule;
    rule.limit = *patch.limit;
    rule.deadband = patch.deadband.value_or(200);
    rule.delay = patch.delay.value_or(0s);
    rule.clear_delay = patch.clear_delay.value_or(0s);
    const auto silent = world.settings.rules.find("silent");
    rule.silence = 5min;
    if (silent != world.settings.rules.end() && silent->second.after)
      rule.silence = *silent->second.after;
    Milli offset = 0;
    if (const auto b = world.settings.cabinets.find("b"); b != world.settings.cabinets.end())
      if (const auto top = b->second.offsets.find("top"); top != b->second.offsets.end())
        offset = top->second;
    DelayOracle oracle(rule);
    Play play(world.settings, seed);
    std::vector<std::string> told;
    Span shift{0};
    const auto note = [&] {
      for (const AlarmEvent& event : play.engine().take_events())
        if (event.key == AlarmKey{"b", "", kWatched} &&
            (event.kind == EventKind::raised || event.kind == EventKind::returned))
          told.push_back(std::to_string((event.at - kStart - shift).count()) + " " +
                         std::string(name_of(event.kind)));
    };
    for (const Step& step : world.steps) {
      play.reach(step.after);
      note();
      if (step.what == What::wall_step) shift += step.jump;
      play.take(step);
      note();
      hear(oracle, step, play.at(), offset);
    }
    play.settle(play.at() + 20min);
    note();
    oracle.finish(play.at());
    ASSERT_EQ(told, oracle.expected());
    raised += told.size();
  });
  EXPECT_GT(raised, 0u);
}

}  // namespace
}  // namespace clutchward::hostile
