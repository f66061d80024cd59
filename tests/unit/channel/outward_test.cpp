// The workers: exactly one report a message, no waiting on the loop's side, and a quick end,
// against a real listening socket that never answers.
#include "channel/outward.h"

#include <arpa/inet.h>
#include <gtest/gtest.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <map>
#include <set>

#include "base/limits.h"
#include "example.h"

namespace clutchward {
namespace {

// Connections are taken by the kernel and never answered; or refused, on a port that is ours alone.
class SilentServer {
 public:
  explicit SilentServer(bool listens = true)
      : fd_(::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0)) {
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    EXPECT_EQ(::bind(fd_, reinterpret_cast<sockaddr*>(&address), sizeof address), 0);
    if (listens) {
      EXPECT_EQ(::listen(fd_, 16), 0);
    }
    socklen_t size = sizeof address;
    EXPECT_EQ(::getsockname(fd_, reinterpret_cast<sockaddr*>(&address), &size), 0);
    port_ = ntohs(address.sin_port);
  }
  ~SilentServer() { ::close(fd_); }
  std::string url() const { return "http://127.0.0.1:" + std::to_string(port_) + "/"; }
  // True once somebody has connected.
  bool reached() const {
    pollfd waiting{fd_, POLLIN, 0};
    return ::poll(&waiting, 1, 60'000) == 1;
  }

 private:
  int fd_;
  int port_ = 0;
};

ChannelSettings webhook(const std::string& url) {
  ChannelSettings settings;
  settings.webhook = WebhookChannel{};
  settings.webhook->url = url;
  return settings;
}

Notification numbered(int number, Urgency urgency = Urgency::medium) {
  Notification message = example_message();
  message.id = "m-" + std::to_string(number);
  message.urgency = urgency;
  return message;
}

class OutwardTest : public testing::Test {
 protected:
  std::vector<DeliveryReport> reports(std::size_t count) {
    std::vector<DeliveryReport> all;
    while (all.size() < count) {
      pollfd waiting{outward_.ready_fd(), POLLIN, 0};
      if (::poll(&waiting, 1, 60'000) != 1) break;
      for (DeliveryReport& report : outward_.take_reports()) all.push_back(std::move(report));
    }
    return all;
  }

  SilentServer server_;
  Settings settings_;
  Outward outward_{[] { return Wall{}; }};
};

TEST_F(OutwardTest, AnswersForAChannelThatIsNotThere) {
  outward_.configure(settings_);
  outward_.submit(numbered(1));
  const auto all = reports(1);
  ASSERT_EQ(all.size(), 1U);
  EXPECT_EQ(all[0], (DeliveryReport{"m-1", Outcome::failed, "no such channel", std::nullopt}));
  EXPECT_TRUE(outward_.take_reports().empty());
  pollfd waiting{outward_.ready_fd(), POLLIN, 0};
  EXPECT_EQ(::poll(&waiting, 1, 0), 0);
}

TEST_F(OutwardTest, ReportsARefusedConnection) {
  const SilentServer nobody(false);
  settings_.contacts["mara"] = {webhook(nobody.url())};
  outward_.configure(settings_);
  outward_.submit(numbered(1));
  const auto all = reports(1);
  ASSERT_EQ(all.size(), 1U);
  EXPECT_EQ(all[0].outcome, Outcome::try_again);
  EXPECT_NE(all[0].detail, "");
}

TEST_F(OutwardTest, TakesNoMoreThanItsBound) {
  settings_.contacts["mara"] = {webhook(server_.url())};
  outward_.configure(settings_);
  outward_.submit(numbered(0));
  ASSERT_TRUE(server_.reached());
  for (std::size_t i = 1; i <= limits::kChannelQueue + 3; ++i)
    outward_.submit(numbered(static_cast<int>(i)));
  const auto all = reports(3);
  ASSERT_EQ(all.size(), 3U);
  for (const DeliveryReport& report : all) {
    EXPECT_EQ(report.outcome, Outcome::try_again);
    EXPECT_EQ(report.detail, "too many messages wait in this channel");
  }
}

TEST_F(OutwardTest, GivesBackWhatWaitedWhenTheChannelChanges) {
  settings_.contacts["mara"] = {webhook(server_.url())};
  outward_.configure(settings_);
  outward_.submit(numbered(0));
  ASSERT_TRUE(server_.reached());
  outward_.submit(numbered(1));
  outward_.submit(numbered(2, Urgency::high));
  outward_.configure(settings_);  // as it was: goes on
  EXPECT_TRUE(outward_.take_reports().empty());
  settings_.contacts["mara"][0].webhook->method = "PUT";
  outward_.configure(settings_);
  const auto all = reports(2);
  ASSERT_EQ(all.size(), 2U);
  EXPECT_EQ(all[0].id, "m-2");  // the more urgent stood first
  EXPECT_EQ(all[1].id, "m-1");
  EXPECT_EQ(all[0].outcome, Outcome::try_again);
  EXPECT_EQ(all[0].detail, "the configuration changed");
}

TEST_F(OutwardTest, EndsWhileATryHangs) {
  settings_.contacts["mara"] = {webhook(server_.url())};
  outward_.configure(settings_);
  outward_.submit(numbered(0));
  ASSERT_TRUE(server_.reached());
  outward_.stop();  // would take a minute by the time limits alone; the test's own limit is less
  const auto all = outward_.take_reports();
  ASSERT_EQ(all.size(), 1U);
  EXPECT_EQ(all[0].outcome, Outcome::try_again);
  outward_.submit(numbered(1));
  EXPECT_TRUE(outward_.take_reports().empty());
}

}  // namespace
}  // namespace clutchward
