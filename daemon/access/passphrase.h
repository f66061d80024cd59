// Passphrases and PINs: hashed with argon2id (RFC 9106) by the reference library, never kept
// themselves. Costs memory and time on purpose: never call it on a thread that others wait for.
#pragma once

#include <string>
#include <string_view>

#include "base/result.h"

namespace clutchward {

// "$argon2id$v=19$m=19456,t=2,p=1$salt$hash", with a fresh salt. 19 MiB, two passes, one lane: the
// least that OWASP's Password Storage Cheat Sheet names (seen as others cite it).
Result<std::string> hash_passphrase(std::string_view passphrase);

// Compares in constant time. False as well for what is no hash.
bool passphrase_fits(const std::string& hash, std::string_view passphrase);

// By its form: argon2id, bounds that one check can pay for (at most 64 MiB, 10 passes, 4 lanes).
bool is_passphrase_hash(std::string_view text);

// Why it is no good as a passphrase (at least 10 characters) or a PIN (six digits, not all the same
// or in a row); "" where it is.
std::string passphrase_fault(std::string_view passphrase);
std::string pin_fault(std::string_view pin);

}  // namespace clutchward
