// What a person asks for: one struct, whichever way it came (MQTT, HTTP, the keeper's command, a
// recording), and one answer.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/time.h"
#include "cabinet/batch_record.h"

namespace clutchward {

enum class Deed : std::uint8_t {
  acknowledge,
  snooze,
  unsnooze,
  reset,
  pass_on,
  attend,
  attended,
  out_of_service,
  in_service,
  turned,
  cool,
  batch_start,
  batch_move,
  batch_end,
  message_test,
  candled,
  weighed,
  batch_split,
  batch_correct
};
inline constexpr std::array<std::string_view, 19> kDeedNames = {
    "acknowledge", "snooze",      "unsnooze",       "reset",        "pass_on",
    "attend",      "attended",    "out_of_service", "in_service",   "turned",
    "cool",        "batch_start", "batch_move",     "batch_end",    "message_test",
    "candled",     "weighed",     "batch_split",    "batch_correct"};
std::string_view name_of(Deed deed);

struct Command {
  std::string id;  // "" : cannot be recognised if it comes again
  std::string by;  // "" : nobody said
  Deed deed = Deed::acknowledge;
  std::string cabinet;
  std::string batch;
  std::string alarm;
  std::string episode;
  std::optional<double> minutes;
  std::optional<Wall> until;   // out_of_service
  std::string reason;          // out_of_service
  std::string profile;         // batch_start
  std::optional<Wall> set_at;  // batch_start
  std::optional<int> eggs;     // batch_start
  std::string to;              // batch_move: the cabinet it goes to
  std::string contact;         // message_test; "" : everyone
  // When it was done, where that is earlier than now: candled, weighed, batch_move, batch_end.
  std::optional<Wall> at;
  Fates eggs_by_fate;                 // candled: removed; batch_end, batch_correct: the outcome
  std::string note;                   // candled, batch_start, batch_end, batch_correct
  std::optional<double> grams;        // weighed
  bool sure = false;                  // weighed: although it seems impossible
  std::optional<double> stored_days;  // batch_start, batch_correct
  std::string new_batch;              // batch_split: the id of the eggs that go
  bool operator==(const Command&) const = default;
};

// A test message that somebody asked for.
struct TestRequest {
  std::string contact;  // "" : everyone
  std::string by;
  bool operator==(const TestRequest&) const = default;
};

struct Reply {
  std::string id;
  bool ok = true;
  std::string why;  // the sentence where refused; where done, what is to be known beside it
  bool operator==(const Reply&) const = default;
};

}  // namespace clutchward
