// Paths and hosts, without a socket.
#include "web/request_check.h"

#include <gtest/gtest.h>

namespace clutchward {
namespace {

TEST(RequestCheck, PathsAreDecodedOnce) {
  EXPECT_EQ(decoded_path("/api/cabinets/setter%20a"), "/api/cabinets/setter a");
  EXPECT_EQ(decoded_path("/%2541"), "/%41");
  EXPECT_EQ(decoded_path("/S%C3%A9tter+a"), "/Sétter+a");
  EXPECT_EQ(decoded_path("/%2f%2F"), "///");
  for (const char* broken : {"/%", "/%4", "/%zz", "/%00", "/%ff", "/\xff", "/%c0%af"})
    EXPECT_EQ(decoded_path(broken), std::nullopt) << broken;
}

TEST(RequestCheck, HostListenedAtIsItsOwn) {
  EXPECT_EQ(host_fault({{"host", "192.0.2.7:8742"}}, {"192.0.2.7"}), std::nullopt);
  EXPECT_EQ(host_fault({{"Host", "[2001:db8::1]:8742"}}, {}), std::nullopt);
  EXPECT_EQ(host_fault({{"Host", ""}}, {})->status, 421U);
  EXPECT_EQ(host_fault({{"Host", "eggs.example"}}, {})->body,
            "Host is \"eggs.example\"; expected an IP address or localhost.\n");
  EXPECT_EQ(host_fault({}, {})->status, 400U);
}

TEST(RequestCheck, FramingGivesTheLength) {
  std::size_t length = 7;
  EXPECT_EQ(framing_fault({}, length), std::nullopt);
  EXPECT_EQ(length, 0U);
  EXPECT_EQ(framing_fault({{"content-length", "42"}}, length), std::nullopt);
  EXPECT_EQ(length, 42U);
  for (const char* bad : {"", " 2", "2 ", "+2", "-2", "0x2", "2,2", "99999999999999999999"})
    EXPECT_EQ(framing_fault({{"Content-Length", bad}}, length)->status, 400U) << bad;
  EXPECT_EQ(framing_fault({{"TRANSFER-ENCODING", "identity"}}, length)->status, 400U);
}

}  // namespace
}  // namespace clutchward
