// The replay's loop: lines in, messages to the engine, events out.
#include "app/replay.h"

#include <unistd.h>

#include <cstring>
#include <ostream>
#include <utility>
#include <vector>

#include "app/history_keeper.h"
#include "app/recording.h"
#include "app/replay_people.h"
#include "base/limits.h"
#include "engine/engine.h"
#include "wire/command_json.h"
#include "wire/event_json.h"

namespace clutchward {
namespace {

constexpr std::size_t kComplaints = 100;  // the rest is counted only

class Player {
 public:
  Player(const Settings& settings, const Zone& zone, const ReplayOptions& options, int output,
         std::ostream& complaints)
      : settings_(settings),
        zone_(zone),
        options_(options),
        output_(output),
        complaints_(complaints),
        command_topic_(settings.broker.base + "/command") {
    if (!options.history.empty())
      history_fails(history_.open(options.history, HistoryFile::For::writing));
    if (options.from) start(*options.from);
  }

  void line(std::string_view text, std::uint64_t number) {
    const auto message = reader_.read(text);
    if (!message) {
      ++faulty_;
      complain(number, message.why());
      return;
    }
    if ((options_.from && message->at < *options_.from) ||
        (options_.until && message->at > *options_.until))
      return;
    if (!engine_) start(message->at);
    if (people_) follow_people(message->at);
    const Moment now = moment(message->at);
    end_ = std::max(end_, message->at);
    if (message->topic == command_topic_)
      command(*message, now, number);
    else
      engine_->message(message->topic, message->payload, message->retained, now);
    if (engine_->has_output() || people_) write_events(now);
    if (history_.is_open()) follow_history(message->at);
  }

  void finish() {
    if (engine_) {
      const Wall end = options_.until ? std::max(*options_.until, end_) : end_;
      if (people_) follow_people(end);
      engine_->settle(moment(end));
      write_events(moment(end));
      if (history_.is_open()) {
        take_history(*engine_, true, rows_);
        take_records(*engine_, settings_, engine_->records(), rows_);
        history_fails(history_.write(rows_));
      }
    }
    flush();
  }

  void complain(std::uint64_t number, const std::string& what) {
    if (++complained_ > kComplaints) return;
    complaints_ << options_.recording << ':' << number << ": " << what << '\n';
  }
  std::uint64_t faulty() const { return faulty_; }
  bool broken() const { return broken_; }
  bool history_failed() const { return history_failed_; }

 private:
  static Moment moment(Wall at) { return {Steady{at.time_since_epoch()}, at, true}; }

  void start(Wall at) {
    end_ = at;
    engine_ = std::make_unique<Engine>(settings_, zone_, moment(at), true);
    engine_->keep_minutes(history_.is_open());
    engine_->begin();
    if (options_.messages != nullptr || history_.is_open())
      people_.emplace(settings_, zone_, options_.messages, history_.is_open() ? &rows_ : nullptr);
    if (history_.is_open()) rows_.told_from = at;
    write_events(moment(at));
  }

  // People are told at the very time: every deadline before `until` in its order.
  void follow_people(Wall until) {
    std::optional<Steady> last;
    for (;;) {
      auto next = engine_->next_deadline();
      if (const auto theirs = people_->next_deadline(); theirs && (!next || *theirs < *next))
        next = theirs;
      if (!next || *next >= moment(until).steady || (last && *next <= *last)) return;
      last = next;
      const Moment now = moment(Wall(next->time_since_epoch()));
      engine_->settle(now);
      write_events(now);
      people_->advance(*engine_, now);
    }
  }

  void command(const RecordedMessage& message, Moment now, std::uint64_t number) {
    const auto command = parse_command(message.payload);
    if (!command) {
      complain(number, "command refused: " + command.why());
      return;
    }
    const Reply reply = engine_->command(*command, message.retained, now);
    if (!reply.ok) complain(number, "command refused: " + reply.why);
  }

  void follow_history(Wall at) {
    const auto minute = std::chrono::floor<std::chrono::minutes>(at);
    if (minute == history_minute_) return;
    history_minute_ = minute;
    take_history(*engine_, false, rows_);
    if (rows_.size() < limits::kHistoryRowsACommit) return;
    history_fails(history_.write(rows_));
    rows_ = {};
  }

  void history_fails(const std::optional<HistoryFile::Trouble>& why) {
    if (!why) return;
    complaints_ << why->why << '\n';
    history_failed_ = true;
    history_.close();
  }

  void write_events(Moment now) {
    const std::vector<AlarmEvent> events = engine_->take_events();
    if (people_) people_->tell(*engine_, events, now);
    for (const AlarmEvent& event : events) {
      out_ += to_json(event) + '\n';
      if (history_.is_open()) note_event(*engine_, event, rows_);
    }
    engine_->take_changes();
    engine_->take_attending_ended();
    engine_->take_notes();
    // The others are written at the end; the engine does not hold those that ended for ever.
    for (const std::string& batch : engine_->take_changed_records()) {
      const auto record = history_.is_open() ? engine_->record(batch) : std::nullopt;
      if (!record || !record->ended_at) continue;
      take_records(*engine_, settings_, {batch}, rows_);
      engine_->record_is_kept(batch);
    }
    if (out_.size() > 64 * 1024) flush();
  }

  void flush() {
    std::string_view rest = out_;
    while (!rest.empty() && !broken_) {
      const ssize_t wrote = ::write(output_, rest.data(), rest.size());
      if (wrote < 0 && errno == EINTR) continue;
      if (wrote < 0) broken_ = true;
      rest.remove_prefix(wrote > 0 ? static_cast<std::size_t>(wrote) : 0);
    }
    out_.clear();
  }

  const Settings& settings_;
  const Zone& zone_;
  const ReplayOptions& options_;
  int output_;
  std::ostream& complaints_;
  const std::string command_topic_;
  RecordedMessages reader_;
  HistoryFile history_;
  HistoryRows rows_;
  std::chrono::sys_time<std::chrono::minutes> history_minute_{};
  bool history_failed_ = false;
  std::unique_ptr<Engine> engine_;
  std::optional<ReplayPeople> people_;
  Wall end_{};
  std::string out_;
  std::uint64_t faulty_ = 0;
  std::size_t complained_ = 0;
  bool broken_ = false;
};

}  // namespace

ReplayOutcome replay(const Settings& settings, const Zone& zone, const ReplayOptions& options,
                     int input, int output, std::ostream& complaints) {
  RecordingLines lines(input);
  Player player(settings, zone, options, output, complaints);
  ReplayOutcome outcome;
  while (const auto line = lines.next()) {
    ++outcome.lines;
    if (line->find_first_not_of(" \t\r") == line->npos) continue;
    player.line(*line, outcome.lines);
    if (player.broken()) break;
  }
  if (!lines.trouble().empty())
    complaints << options.recording << ": cannot be read further: " << lines.trouble() << '\n';
  player.finish();
  if (player.broken())
    complaints << "the events cannot be written: " << std::strerror(errno) << '\n';
  outcome.faulty = player.faulty();
  outcome.history_failed = player.history_failed();
  return outcome;
}

}  // namespace clutchward
