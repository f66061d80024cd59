// Talks HTTP with the daemon over its Unix socket, and over nothing else.
#pragma once

#include <string>

#include "base/result.h"
#include "engine/command.h"

namespace clutchward {

// `given`, else $CLUTCHWARD_STATE, else /var/lib/clutchward.
std::string state_directory(const std::string& given);

struct HttpAnswer {
  long status = 0;
  std::string body;
};

class ControlClient {
 public:
  explicit ControlClient(const std::string& state);

  // Ten seconds at most. The refusal says which socket could not be reached, why, and what to try.
  Result<HttpAnswer> get(const std::string& path) const;
  Result<HttpAnswer> post(const std::string& path) const;  // without a body

  // Sends the command under a random id and waits for its outcome, ten seconds; a time-out is tried
  // once more under the same id, which the daemon carries out once. A reply that refuses is a
  // value: only a daemon that cannot be reached or understood is a refusal here.
  Result<Reply> command(Command command) const;

 private:
  Result<HttpAnswer> send(const std::string& path, const std::string* body, bool& timed_out) const;

  std::string socket_;
};

// One part of a path, percent-encoded.
std::string path_part(const std::string& text);

}  // namespace clutchward
