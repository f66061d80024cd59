// libFuzzer entry: any bytes as a configuration. Files that it names are looked at, never written.
#include <cstddef>
#include <cstdint>
#include <string_view>

#include "config/load.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  (void)clutchward::parse_settings(text, "fuzz/clutchward.yaml");
  return 0;
}
