// The JSON of a ring topic, and of the word by which a device confirms it.
#pragma once

#include <string>
#include <string_view>

#include "base/result.h"
#include "notification/ringing.h"

namespace clutchward {

// {"at":…,"beat":30,"ring":true,"urgency":"high","id":…,"contacts":[…],"first_line":…,"since":…,
//  "confirmed_at":null,"confirmed_by":null,"alarms":[{"cabinet":…,"batch":…,"alarm":…,"episode":…}],
//  "more":0}; where nobody needs ringing at, beat and ring alone.
std::string to_json(const RingPicture& picture);

struct RingConfirmation {
  std::string id;  // of the message; "" : whatever rings there
  std::string by;
  bool operator==(const RingConfirmation&) const = default;
};

// {"id":…,"by":…}, both may be left out; so may everything. A refusal for anything else.
Result<RingConfirmation> parse_confirmation(std::string_view payload);

}  // namespace clutchward
