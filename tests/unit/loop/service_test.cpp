// The real datagrams of sd_notify(3), received on a socket of our own.
#include "loop/service.h"

#include <gtest/gtest.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <cstdlib>
#include <cstring>
#include <filesystem>
#include <string>

namespace clutchward {
namespace {

class Service : public ::testing::Test {
 protected:
  void SetUp() override {
    std::string name = (std::filesystem::temp_directory_path() / "clutchward-XXXXXX").string();
    directory_ = ::mkdtemp(name.data());
    const std::string path = directory_ + "/notify";
    socket_ = ::socket(AF_UNIX, SOCK_DGRAM | SOCK_NONBLOCK, 0);
    sockaddr_un address{};
    address.sun_family = AF_UNIX;
    std::strncpy(address.sun_path, path.c_str(), sizeof address.sun_path - 1);
    ASSERT_EQ(0, ::bind(socket_, reinterpret_cast<sockaddr*>(&address), sizeof address));
    ::setenv("NOTIFY_SOCKET", path.c_str(), 1);
  }
  void TearDown() override {
    for (const char* name : {"NOTIFY_SOCKET", "WATCHDOG_USEC", "WATCHDOG_PID"}) ::unsetenv(name);
    ::close(socket_);
    std::filesystem::remove_all(directory_);
  }
  std::string told() const {
    char buffer[512];
    const ssize_t size = ::recv(socket_, buffer, sizeof buffer, 0);
    return size < 0 ? "(nothing)" : std::string(buffer, static_cast<std::size_t>(size));
  }
  std::string directory_;
  int socket_ = -1;
};

TEST_F(Service, SaysReadyStoppingAndItsHealth) {
  service_ready();
  EXPECT_EQ("READY=1", told());
  service_stopping();
  EXPECT_EQ("STOPPING=1", told());
  service_status("2 cabinets,\n1 alarm");
  EXPECT_EQ("STATUS=2 cabinets, 1 alarm", told());
}

TEST_F(Service, SaysWhenItReloads) {
  service_reloading();
  const std::string text = told();
  ASSERT_TRUE(text.starts_with("RELOADING=1\nMONOTONIC_USEC=")) << text;
  EXPECT_GT(std::stoll(text.substr(text.rfind('=') + 1)), 1'000'000);
}

TEST_F(Service, FeedsTheWatchdogThreeTimesInItsLimit) {
  ::setenv("WATCHDOG_USEC", "30000000", 1);
  ::setenv("WATCHDOG_PID", std::to_string(::getpid()).c_str(), 1);
  Watchdog watchdog;
  ASSERT_EQ(Span(10'000), watchdog.interval());
  EXPECT_EQ(Steady{}, watchdog.next());
  EXPECT_TRUE(watchdog.feed(Steady(Span(1000))));
  EXPECT_EQ("WATCHDOG=1", told());
  EXPECT_EQ(Steady(Span(11'000)), watchdog.next());
  EXPECT_FALSE(watchdog.feed(Steady(Span(10'999))));
  EXPECT_EQ("(nothing)", told());
  EXPECT_TRUE(watchdog.feed(Steady(Span(11'000))));
  EXPECT_EQ("WATCHDOG=1", told());
}

TEST_F(Service, HasNoWatchdogUnlessAskedFor) {
  EXPECT_EQ(std::nullopt, Watchdog().interval());
  ::setenv("WATCHDOG_USEC", "30000000", 1);
  ::setenv("WATCHDOG_PID", "1", 1);  // somebody else's
  Watchdog other;
  EXPECT_EQ(std::nullopt, other.interval());
  EXPECT_FALSE(other.feed(Steady(Span(1000))));
  EXPECT_EQ(std::nullopt, other.next());
  EXPECT_EQ("(nothing)", told());
}

}  // namespace
}  // namespace clutchward
