// File names from keys. Letters of any script stay as they are, so that a person finds the cabinet;
// the dot is escaped too, since it parts the name from ".yaml", ".tmp" and ".damaged-1".
#include "store/place.h"

#include <algorithm>
#include <charconv>

#include "base/text.h"
#include "store/checksum.h"

namespace clutchward {
namespace {

// A file name takes 255 bytes on every common Linux file system; ".yaml.damaged-20" needs 16.
constexpr std::size_t kPartBytes = 200;
constexpr std::size_t kCutBytes = 150;
constexpr std::string_view kYaml = ".yaml";

std::string escaped(std::string_view part) {
  constexpr std::string_view kHex = "0123456789ABCDEF";
  if (part.empty()) return "%";
  const bool utf8 = valid_utf8(part);
  std::string out;
  for (const char byte : part) {
    const auto c = static_cast<unsigned char>(byte);
    const bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
                       c == '-' || c == '_' || (c >= 0x80 && utf8);
    if (plain) {
      out += byte;
    } else {
      out += '%';
      out += kHex[c >> 4];
      out += kHex[c & 0xFU];
    }
  }
  if (out.size() <= kPartBytes) return out;
  return out.substr(0, kCutBytes) + "%" + checksum_text(crc32c(part));
}

}  // namespace

std::string Places::journal(std::uint64_t generation) const {
  std::string digits = std::to_string(generation);
  digits.insert(0, 8 - std::min<std::size_t>(digits.size(), 8), '0');
  return journals() + "/" + digits + std::string(kYaml);
}

std::optional<std::string_view> Places::group_of(std::string_view key) const {
  const std::size_t slash = key.find('/');
  if (slash == std::string_view::npos) return std::nullopt;
  const auto found = std::find(grouped_.begin(), grouped_.end(), key.substr(0, slash));
  if (found == grouped_.end()) return std::nullopt;
  return *found;
}

std::string Places::file_of_group(std::string_view group) const {
  return kept() + "/" + escaped(group) + "/all" + std::string(kYaml);
}

std::string Places::file_of(std::string_view key) const {
  if (const auto group = group_of(key)) return file_of_group(*group);
  std::string path = kept();
  while (true) {
    const std::size_t slash = key.find('/');
    path += '/';
    path += escaped(key.substr(0, slash));
    if (slash == std::string_view::npos) return path + std::string(kYaml);
    key.remove_prefix(slash + 1);
  }
}

std::optional<std::uint64_t> journal_generation(std::string_view path) {
  if (!path.ends_with(kYaml)) return std::nullopt;
  path.remove_suffix(kYaml.size());
  const std::string_view digits = path.substr(path.rfind('/') + 1);
  std::uint64_t generation = 0;
  const auto [end, error] =
      std::from_chars(digits.data(), digits.data() + digits.size(), generation);
  if (error != std::errc() || end != digits.data() + digits.size()) return std::nullopt;
  return generation;
}

std::string folder_of(const std::string& path) { return path.substr(0, path.rfind('/')); }

}  // namespace clutchward
