// Lines and the messages in them.
#include "app/recording.h"

#include <simdjson.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <utility>

#include "base/text.h"

namespace clutchward {
namespace {

constexpr std::size_t kReadBytes = 1 << 20;
// A payload of limits::kPayloadBytes with every byte escaped, and its topic: longer is no message.
constexpr std::size_t kLineBytes = 128 * 1024;

}  // namespace

RecordingLines::RecordingLines(int input) : input_(input), buffer_(kReadBytes + kLineBytes + 64) {}

std::optional<std::string_view> RecordingLines::next() {
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

void RecordingLines::refill() {
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

struct RecordedMessages::Parser {
  simdjson::dom::parser json;
  std::string embedded;
};

RecordedMessages::RecordedMessages() : parser_(std::make_unique<Parser>()) {}
RecordedMessages::~RecordedMessages() = default;

Result<RecordedMessage> RecordedMessages::read(std::string_view line) {
  simdjson::dom::object object;
  if (parser_->json.parse(line.data(), line.size(), false).get(object) != simdjson::SUCCESS)
    return Refusal{"not a JSON object: " + printable(line, 60)};
  RecordedMessage message;
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
        parser_->embedded = value.is_null() ? std::string() : simdjson::minify(value);
        message.payload = parser_->embedded;
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

}  // namespace clutchward
