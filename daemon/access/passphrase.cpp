// argon2id through the reference library.
#include "access/passphrase.h"

#include <argon2.h>

#include <algorithm>
#include <array>
#include <charconv>

#include "access/random.h"

namespace clutchward {
namespace {

constexpr std::uint32_t kMemory = 19 * 1024;  // KiB
constexpr std::uint32_t kPasses = 2;
constexpr std::uint32_t kLanes = 1;
constexpr std::size_t kSalt = 16;  // RFC 9106, section 3.1: recommended for passwords
constexpr std::size_t kHash = 32;

constexpr std::uint32_t kMostMemory = 64 * 1024;
constexpr std::uint32_t kMostPasses = 10;
constexpr std::uint32_t kMostLanes = 4;
constexpr std::size_t kMostBytes = 1024;  // of a passphrase; longer ones are somebody's flood

// Takes "name=NUMBER" and the character behind it off the front.
bool take(std::string_view& text, std::string_view name, char end, std::uint32_t least,
          std::uint32_t most) {
  if (!text.starts_with(name)) return false;
  text.remove_prefix(name.size());
  std::uint32_t value = 0;
  const auto [stop, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || value < least || value > most) return false;
  text.remove_prefix(static_cast<std::size_t>(stop - text.data()));
  if (!text.starts_with(end)) return false;
  text.remove_prefix(1);
  return true;
}

bool is_base64(std::string_view text, std::size_t least, std::size_t most) {
  return text.size() >= least && text.size() <= most &&
         std::all_of(text.begin(), text.end(), [](char c) {
           return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
                  c == '+' || c == '/';
         });
}

}  // namespace

Result<std::string> hash_passphrase(std::string_view passphrase) {
  if (passphrase.size() > kMostBytes)
    return Refusal{"the passphrase has more than " + std::to_string(kMostBytes) + " bytes"};
  const std::string salt = random_bytes(kSalt);
  std::array<char, 256> encoded{};
  const int code =
      argon2id_hash_encoded(kPasses, kMemory, kLanes, passphrase.data(), passphrase.size(),
                            salt.data(), salt.size(), kHash, encoded.data(), encoded.size());
  if (code != ARGON2_OK) return Refusal{argon2_error_message(code)};
  return std::string(encoded.data());
}

bool passphrase_fits(const std::string& hash, std::string_view passphrase) {
  return is_passphrase_hash(hash) && passphrase.size() <= kMostBytes &&
         argon2id_verify(hash.c_str(), passphrase.data(), passphrase.size()) == ARGON2_OK;
}

bool is_passphrase_hash(std::string_view text) {
  constexpr std::string_view kHead = "$argon2id$v=19$";
  if (!text.starts_with(kHead)) return false;
  text.remove_prefix(kHead.size());
  if (!take(text, "m=", ',', 8, kMostMemory) || !take(text, "t=", ',', 1, kMostPasses) ||
      !take(text, "p=", '$', 1, kMostLanes))
    return false;
  const auto dollar = text.find('$');
  if (dollar == std::string_view::npos) return false;
  return is_base64(text.substr(0, dollar), 11, 86) && is_base64(text.substr(dollar + 1), 22, 86);
}

std::string passphrase_fault(std::string_view passphrase) {
  constexpr std::size_t kLeast = 10;
  if (passphrase.size() < kLeast)
    return "the passphrase has " + std::to_string(passphrase.size()) +
           " characters; expected at least " + std::to_string(kLeast) + ", for instance four words";
  if (passphrase.size() > kMostBytes)
    return "the passphrase has " + std::to_string(passphrase.size()) + " bytes; expected at most " +
           std::to_string(kMostBytes);
  return "";
}

std::string pin_fault(std::string_view pin) {
  constexpr std::string_view kUp = "01234567890123456789";
  constexpr std::string_view kDown = "98765432109876543210";
  const bool digits =
      std::all_of(pin.begin(), pin.end(), [](char c) { return c >= '0' && c <= '9'; });
  if (pin.size() != 6 || !digits) return "a PIN is six digits";
  const bool one = pin.find_first_not_of(pin[0]) == std::string_view::npos;
  if (one || kUp.find(pin) != std::string_view::npos || kDown.find(pin) != std::string_view::npos)
    return "that PIN is the first that anybody would try; expected six digits that are not in a "
           "row";
  return "";
}

}  // namespace clutchward
