// Secrets from the operating system's generator, and the three primitives that go with them: all by
// OpenSSL, nothing of our own.
#pragma once

#include <string>
#include <string_view>

namespace clutchward {

// `bytes` of it, fit for keys; a generator that fails ends the program.
std::string random_bytes(std::size_t bytes);

std::string hmac_sha256(std::string_view key, std::string_view text);
std::string sha256(std::string_view text);

// In a time that depends on the lengths only.
bool same_secret(std::string_view left, std::string_view right);

// RFC 4648, section 5 (base64url), without padding. Decoding takes only what encoding gives.
std::string to_base64url(std::string_view bytes);
bool from_base64url(std::string_view text, std::string& bytes);

}  // namespace clutchward
