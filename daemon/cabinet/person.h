// Who may do what on the page, as the configuration says it. Hashes only: a passphrase itself is
// never kept.
#pragma once

#include <array>
#include <cstdint>
#include <string>
#include <string_view>

namespace clutchward {

// Each may do what the one before it may.
enum class Role : std::uint8_t { look, answer, manage };
inline constexpr std::array<std::string_view, 3> kRoleNames = {"look", "answer", "manage"};

struct PersonSettings {
  Role role = Role::answer;
  std::string passphrase;  // argon2id hash ("$argon2id$..."), "" : comes by links only
  std::string pin;         // argon2id hash of six digits, "" : none
  bool operator==(const PersonSettings&) const = default;
};

}  // namespace clutchward
