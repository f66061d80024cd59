// A recording as it lies on a medium: JSON Lines, one MQTT message a line, read in constant memory.
// Reads and checks; what a message means is the engine's.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "base/time.h"

namespace clutchward {

// Cuts a descriptor into lines without copying them; each may be read 64 bytes past its end, as the
// JSON parser wants.
class RecordingLines {
 public:
  explicit RecordingLines(int input);

  // The next line without its end; none at the end of the input. Of a line that is too long only
  // the head comes.
  std::optional<std::string_view> next();
  // Why the input could not be read to its end, or "".
  const std::string& trouble() const { return trouble_; }

 private:
  void refill();

  int input_;
  std::vector<char> buffer_;
  std::size_t at_ = 0;
  std::size_t filled_ = 0;
  bool ended_ = false;
  bool cut_ = false;  // inside a line whose head has been handed out
  std::string trouble_;
};

struct RecordedMessage {
  Wall at{};
  std::string_view topic;
  std::string_view payload;
  bool retained = false;
};

class RecordedMessages {
 public:
  RecordedMessages();
  ~RecordedMessages();
  RecordedMessages(const RecordedMessages&) = delete;
  RecordedMessages& operator=(const RecordedMessages&) = delete;

  // The message of one line, valid until the next call; or what is wrong with it.
  Result<RecordedMessage> read(std::string_view line);

 private:
  struct Parser;
  std::unique_ptr<Parser> parser_;
};

}  // namespace clutchward
