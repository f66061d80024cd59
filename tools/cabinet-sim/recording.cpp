#include "recording.h"

namespace clutchward::sim {

namespace {

// Topics hold no control characters (valid_id) and payloads are our own.
std::string quoted(const std::string& text) {
  std::string out = "\"";
  for (const char c : text) {
    if (c == '"' || c == '\\') out += '\\';
    out += c;
  }
  return out + '"';
}

}  // namespace

std::string recording_line(Wall at, const Message& message) {
  std::string time = to_rfc3339(at);
  time.insert(time.size() - 1, "000");  // a recording counts in microseconds, we in milliseconds
  return "{\"tst\":\"" + time + "\",\"topic\":" + quoted(message.topic) +
         ",\"payload\":" + quoted(message.payload) + ",\"retain\":0}\n";
}

}  // namespace clutchward::sim
