// The engines and announcers of all sides in step, line by line, and what comes of them.
#include "app/quality_play.h"

#include <algorithm>
#include <map>
#include <memory>
#include <ostream>
#include <tuple>
#include <utility>

#include "app/recording.h"
#include "engine/engine.h"
#include "notification/announcer.h"
#include "wire/command_json.h"

namespace clutchward {
namespace {

constexpr std::size_t kComplaints = 100;  // the rest is counted only
constexpr const char* kAnswers = "somebody";

Moment moment(Wall at) { return {Steady{at.time_since_epoch()}, at, true}; }

// An event with what its alarm was then.
struct PlayedEvent {
  AlarmEvent event;
  Priority priority = Priority::medium;
  std::string trouble;
};

// One configuration: its engine, its announcer, and the person who answers.
class Player {
 public:
  Player(const QualitySide& side, std::optional<Span> answer_after, Wall start)
      : command_topic_(side.settings->broker.base + "/command"),
        answer_after_(answer_after),
        engine_(*side.settings, *side.zone, moment(start), true),
        announcer_(*side.settings, *side.zone) {
    engine_.begin();
    turn(moment(start));
  }

  bool is_command(std::string_view topic) const { return topic == command_topic_; }

  // Everything that is due before `until`, each at its own time.
  void reach(Steady until) {
    Steady last = engine_.present().steady;
    for (;;) {
      std::optional<Steady> next = engine_.next_deadline();
      const auto earlier = [&](std::optional<Steady> due) {
        if (due && (!next || *due < *next)) next = due;
      };
      earlier(announcer_.next_deadline());
      if (!answers_.empty()) earlier(answers_.begin()->first);
      if (!next || *next >= until) return;
      last = std::max(*next, last);
      if (last >= until) return;
      settle(moment(Wall{last.time_since_epoch()}));
      last += Span{1};  // one that is not gone yet cannot hold the play up
    }
  }

  void settle(Moment now) {
    engine_.settle(now);
    give_answers(now);
    turn(now);
  }

  void take(const RecordedMessage& message) {
    const Moment now = moment(message.at);
    if (!is_command(message.topic)) {
      engine_.message(message.topic, message.payload, message.retained, now);
    } else if (const auto command = parse_command(message.payload)) {
      if (!engine_.command(*command, message.retained, now).ok) ++refused_;
    } else {
      ++refused_;
    }
    if (engine_.has_output()) turn(now);
  }

  std::vector<PlayedEvent> take_events() { return std::exchange(told_, {}); }

  QualitySideOutcome outcome(Wall from, Wall until) const {
    return {tally_.figures(from, until), people_.figures(from, until), refused_};
  }

 private:
  void turn(Moment now) {
    const auto events = engine_.take_events();
    for (const AlarmEvent& event : events) note(event);
    if (!events.empty()) announcer_.tell(events, engine_, now);
    for (const std::string& cabinet : engine_.take_attending_ended())
      announcer_.attending_ended(cabinet, engine_, now);
    announcer_.advance(engine_, now);
    engine_.take_changes();
    engine_.take_dirty_cabinets();
    engine_.take_notes();
    engine_.take_tests();
    engine_.take_changed_records();
    deliver(now);
  }

  // Every message arrives at once.
  void deliver(Moment now) {
    announcer_.take_changes(now);
    for (auto notes = announcer_.take_due(now); !notes.empty(); notes = announcer_.take_due(now)) {
      for (const Notification& note : notes) {
        people_.take(note);
        DeliveryReport report;
        report.id = note.id;
        announcer_.report(report, engine_, now);
      }
      announcer_.take_changes(now);
    }
  }

  void note(const AlarmEvent& event) {
    PlayedEvent one;
    one.event = event;
    std::optional<Priority> priority;
    bool latched = false;
    if (const auto view = engine_.find(event.key)) {
      priority = view->priority;
      latched = view->latched;
      one.priority = view->priority;
      one.trouble = sort_of_trouble(view->kind, view->quantity, view->downwards, view->signal);
    }
    tally_.take(event, priority);
    if (answer_after_) will_answer(event, latched);
    told_.push_back(std::move(one));
  }

  void will_answer(const AlarmEvent& event, bool latched) {
    Command command;
    command.by = kAnswers;
    command.cabinet = event.key.cabinet;
    command.batch = event.key.batch;
    command.alarm = event.key.alarm;
    const bool over = event.kind == EventKind::returned && latched;
    if (!is_annunciation(event.kind) && !over) return;
    command.deed = over ? Deed::reset : Deed::acknowledge;
    answers_.emplace(Steady{(event.at + *answer_after_).time_since_epoch()}, std::move(command));
  }

  // What does not fit any more (it is over, or was taken already) is refused, and nothing is lost.
  void give_answers(Moment now) {
    while (!answers_.empty() && answers_.begin()->first <= now.steady) {
      const Command command = answers_.begin()->second;
      answers_.erase(answers_.begin());
      engine_.command(command, false, now);
    }
  }

  std::string command_topic_;
  std::optional<Span> answer_after_;
  Engine engine_;
  Announcer announcer_;
  std::multimap<Steady, Command> answers_;
  AlarmTally tally_;
  PeopleTally people_;
  std::vector<PlayedEvent> told_;
  std::uint64_t refused_ = 0;
};

class Play {
 public:
  Play(const std::vector<QualitySide>& sides, const QualityPlayOptions& options,
       std::ostream& complaints)
      : sides_(sides),
        options_(options),
        complaints_(complaints),
        matcher_(sides.size(), [this](const Occurrence& one) { keep(one); }) {
    if (sides.size() > 1) out_.sums.resize(sides.size() - 1);
    if (options.from) start(*options.from);
  }

  void line(std::string_view text) {
    const auto message = messages_.read(text);
    if (!message) {
      ++out_.faulty;
      if (++complained_ <= kComplaints)
        complaints_ << options_.recording << ':' << out_.lines << ": " << message.why() << '\n';
      return;
    }
    if ((options_.from && message->at < *options_.from) ||
        (options_.until && message->at > *options_.until))
      return;
    if (!out_.from) start(message->at);
    out_.until = std::max(out_.until, message->at);
    bool command = false;
    for (auto& player : players_) {
      player->reach(Steady{message->at.time_since_epoch()});
      player->take(*message);
      command = command || player->is_command(message->topic);
    }
    out_.commands += command ? 1 : 0;
    match();
  }

  QualityPlayed finish() {
    if (!out_.from) return std::move(out_);
    if (options_.until) out_.until = std::max(out_.until, *options_.until);
    for (auto& player : players_) {
      player->reach(Steady{out_.until.time_since_epoch()});
      player->settle(moment(out_.until));
    }
    match();
    matcher_.finish(out_.until);
    for (const auto& player : players_)
      out_.sides.push_back(player->outcome(*out_.from, out_.until));
    const auto order = [](const Occurrence& one) {
      return std::tie(one.from, one.cabinet, one.trouble);
    };
    std::sort(out_.occurrences.begin(), out_.occurrences.end(),
              [&](const auto& a, const auto& b) { return order(a) < order(b); });
    return std::move(out_);
  }

  std::uint64_t& lines() { return out_.lines; }

 private:
  void start(Wall at) {
    out_.from = out_.until = at;
    for (const QualitySide& side : sides_)
      players_.push_back(std::make_unique<Player>(side, options_.answer_after, at));
    match();
  }

  // All sides' events of this step, in order of time.
  void match() {
    struct Of {
      std::size_t side;
      PlayedEvent told;
    };
    std::vector<Of> all;
    for (std::size_t i = 0; i < players_.size(); ++i)
      for (PlayedEvent& told : players_[i]->take_events()) all.push_back({i, std::move(told)});
    if (players_.size() < 2) return;
    std::stable_sort(all.begin(), all.end(),
                     [](const Of& a, const Of& b) { return a.told.event.at < b.told.event.at; });
    for (const auto& [side, told] : all) {
      const EventKind kind = told.event.kind;
      if (kind == EventKind::raised)
        matcher_.raised(side, told.event, told.priority, told.trouble);
      else if (kind == EventKind::returned || kind == EventKind::out_of_service)
        matcher_.ended(side, told.event);
    }
  }

  void keep(const Occurrence& one) {
    for (std::size_t i = 0; i < out_.sums.size(); ++i) out_.sums[i].take(one, 0, i + 1);
    if (out_.occurrences.size() < kOccurrencesKept)
      out_.occurrences.push_back(one);
    else
      ++out_.occurrences_left_out;
  }

  const std::vector<QualitySide>& sides_;
  const QualityPlayOptions& options_;
  std::ostream& complaints_;
  RecordedMessages messages_;
  std::vector<std::unique_ptr<Player>> players_;
  OccurrenceMatcher matcher_;
  QualityPlayed out_;
  std::size_t complained_ = 0;
};

}  // namespace

QualityPlayed play_for_quality(const std::vector<QualitySide>& sides,
                               const QualityPlayOptions& options, int input,
                               std::ostream& complaints) {
  RecordingLines lines(input);
  Play play(sides, options, complaints);
  while (const auto line = lines.next()) {
    ++play.lines();
    if (line->find_first_not_of(" \t\r") != line->npos) play.line(*line);
  }
  if (!lines.trouble().empty())
    complaints << options.recording << ": cannot be read further: " << lines.trouble() << '\n';
  return play.finish();
}

}  // namespace clutchward
