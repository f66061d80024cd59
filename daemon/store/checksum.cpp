// A table of 256 entries, a byte a step: some hundred megabytes a second, where a storm writes one.
#include "store/checksum.h"

#include <array>

namespace clutchward {
namespace {

constexpr std::array<std::uint32_t, 256> kTable = [] {
  std::array<std::uint32_t, 256> table{};
  for (std::uint32_t i = 0; i < 256; ++i) {
    std::uint32_t value = i;
    for (int bit = 0; bit < 8; ++bit) value = (value >> 1) ^ ((value & 1U) != 0 ? 0x82F63B78U : 0U);
    table[i] = value;
  }
  return table;
}();

}  // namespace

std::uint32_t crc32c(std::string_view bytes) {
  std::uint32_t value = 0xFFFFFFFFU;
  for (const char byte : bytes)
    value = (value >> 8) ^ kTable[(value ^ static_cast<unsigned char>(byte)) & 0xFFU];
  return value ^ 0xFFFFFFFFU;
}

std::string checksum_text(std::uint32_t checksum) {
  constexpr std::string_view kDigits = "0123456789abcdef";
  std::string text(8, '0');
  for (int i = 7; i >= 0; --i, checksum >>= 4) text[i] = kDigits[checksum & 0xFU];
  return text;
}

}  // namespace clutchward
