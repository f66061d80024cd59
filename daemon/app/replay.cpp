// The replay's loop: lines in, messages to the engine, events out.
#include "app/replay.h"

#include <simdjson.h>
#include <unistd.h>

#include <cstring>
#include <ostream>
#include <utility>
#include <vector>

#include "app/history_keeper.h"
#include "app/replay_people.h"
#include "base/limits.h"
#include "engine/engine.h"
#include "wire/command_json.h"
#include "wire/event_json.h"

namespace clutchward {
namespace {

constexpr std::size_t kReadBytes = 1 << 20;
// A payload of limits::kPayloadBytes with every byte escaped, and its topic: longer is no message.
constexpr std::size_t kLineBytes = 128 * 1024;
constexpr std::size_t kComplaints = 100;  // the rest is counted only

// Cuts a descriptor into lines without copying them; each may be read 64 bytes past its end, as the
// JSON parser wants.
class Lines {
 public:
  explicit Lines(int input) : input_(input), buffer_(kReadBytes + kLineBytes + 64) {}

  // The next line without its end; none at the end of the input. Of a line that is too long only
  // the head comes.
  std::optional<std::string_view> next() {
    for (;;) {
      const char* const begin = buffer_.data() + at_;
      if (const void* end = std::memchr(begin, '\n', filled_ - at_)) {
        const auto length = static_cast<std::size_t>(static_cast<const char*>(end) - begin);
        at_ += length + 1;
        if (!std::exchange(cut_, false)) return std::string_view(begin, length);
        continue;
      }
      if (cut_) {
        at_ = filled_;
        if (ended_) return std::nullopt;
        refill();
        continue;
      }
      if (ended_) {
        const std::string_view rest(begin, filled_ - at_);
        at_ = filled_;
        return rest.empty() ? std::nullopt : std::optional(rest);
      }
      if (filled_ - at_ > kLineBytes) {
        // No message is so long: what is left of it is passed over, its head is shown as a fault.
        cut_ = true;
        const std::string_view head(begin, 200);
        at_ = filled_;
        return head;
      }
      refill();
    }
  }

  const std::string& trouble() const { return trouble_; }

 private:
  void refill() {
    std::memmove(buffer_.data(), buffer_.data() + at_, filled_ - at_);
    filled_ -= at_;
    at_ = 0;
    const ssize_t got = ::read(input_, buffer_.data() + filled_, buffer_.size() - 64 - filled_);
    if (got < 0 && errno == EINTR) return;
    if (got < 0) trouble_ = std::strerror(errno);
    if (got <= 0)
      ended_ = true;
    else
      filled_ += static_cast<std::size_t>(got);
  }

  int input_;
  std::vector<char> buffer_;
  std::size_t at_ = 0;
  std::size_t filled_ = 0;
  bool ended_ = false;
  bool cut_ = false;  // inside a line whose head has been handed out
  std::string trouble_;
};

struct Message {
  Wall at{};
  std::string_view topic;
  std::string_view payload;
  bool retained = false;
};

class MessageReader {
 public:
  // The message of one line, valid until the next call; or what is wrong with it.
  Result<Message> read(std::string_view line) {
    simdjson::dom::object object;
    if (parser_.parse(line.data(), line.size(), false).get(object) != simdjson::SUCCESS)
      return Refusal{"not a JSON object: " + printable(line, 60)};
    Message message;
    bool has_time = false;
    bool has_topic = false;
    bool has_payload = false;
    for (const auto [key, value] : object) {
      if (key == "tst") {
        std::string_view text;
        const auto at =
            value.get(text) == simdjson::SUCCESS ? parse_recorded_time(text) : std::nullopt;
        if (!at) return Refusal{"tst is no time: " + printable(simdjson::minify(value), 60)};
        message.at = *at;
        has_time = true;
      } else if (key == "topic") {
        if (value.get(message.topic) != simdjson::SUCCESS) return Refusal{"topic is no text"};
        has_topic = true;
      } else if (key == "payload") {
        // Some clients embed a JSON payload as it is instead of as text.
        if (value.get(message.payload) != simdjson::SUCCESS) {
          embedded_ = value.is_null() ? std::string() : simdjson::minify(value);
          message.payload = embedded_;
        }
        has_payload = true;
      } else if (key == "retain") {
        std::int64_t number = 0;
        bool flag = false;
        if (value.get(number) == simdjson::SUCCESS)
          message.retained = number != 0;
        else if (value.get(flag) == simdjson::SUCCESS)
          message.retained = flag;
        else
          return Refusal{"retain is neither 0 nor 1: " + printable(simdjson::minify(value), 60)};
      }
    }
    if (!has_time || !has_topic || !has_payload)
      return Refusal{std::string(!has_time    ? "tst"
                                 : !has_topic ? "topic"
                                              : "payload") +
                     " is missing"};
    return message;
  }

 private:
  simdjson::dom::parser parser_;
  std::string embedded_;
};

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
    if (options_.messages != nullptr) people_.emplace(settings_, zone_, *options_.messages);
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

  void command(const Message& message, Moment now, std::uint64_t number) {
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
    engine_->take_changed_records();  // all of them are written at the end
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
  MessageReader reader_;
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
  Lines lines(input);
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
