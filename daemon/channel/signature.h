// Signing as the Standard Webhooks specification has it, scheme v1: HMAC-SHA256 over
// "<id>.<timestamp>.<body>", in base64. Signs only; checking is the receiver's.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"

namespace clutchward {

// The key of one secret ("whsec_" and base64, or the base64 alone). The refusal never repeats it.
Result<std::string> signing_key(std::string_view secret);

// The value of webhook-signature: one "v1,<base64>" a key, separated by blanks, so that a receiver
// may change from one key to the next without losing a message.
std::string signature_header(const std::vector<std::string>& keys, std::string_view id,
                             std::int64_t timestamp_seconds, std::string_view body);

}  // namespace clutchward
