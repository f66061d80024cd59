// CRC-32C (Castagnoli), the checksum of state files: finds torn and rotten bytes. It keeps nobody
// out: whoever may write the file may write the checksum.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace clutchward {

// CRC-32C as RFC 3720 (iSCSI) appendix B.4 gives it: polynomial 0x1EDC6F41, reflected, start and
// end inverted.
std::uint32_t crc32c(std::string_view bytes);

// Eight lower-case hexadecimal digits.
std::string checksum_text(std::uint32_t checksum);

}  // namespace clutchward
