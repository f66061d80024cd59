// Brokers that the real one cannot be made to be: one that knows only MQTT 3.1.1, one that hangs up
// on what it does not know, one that says farewell with a reason. Each speaks real MQTT bytes over
// a real socket (OASIS MQTT 3.1.1 section 3 and MQTT 5.0 section 3, from memory).
#include <atomic>

#include "broker.h"

namespace clutchward::ingest_test {
namespace {

using Bytes = std::vector<unsigned char>;

class OddBroker {
 public:
  enum class Way { refuses_v5, hangs_up_on_v5, takes_over, silent };

  explicit OddBroker(Way way) : way_(way), listener_(::socket(AF_INET, SOCK_STREAM, 0)) {
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    socklen_t size = sizeof address;
    EXPECT_EQ(0, ::bind(listener_, reinterpret_cast<sockaddr*>(&address), size));
    EXPECT_EQ(0, ::listen(listener_, 8));
    EXPECT_EQ(0, ::getsockname(listener_, reinterpret_cast<sockaddr*>(&address), &size));
    port_ = ntohs(address.sin_port);
    thread_ = std::thread([this] { serve(); });
  }
  ~OddBroker() {
    stopping_ = true;
    ::shutdown(listener_, SHUT_RDWR);
    if (current_ >= 0) ::shutdown(current_, SHUT_RDWR);
    thread_.join();
    ::close(listener_);
  }
  std::string url() const { return "mqtt://127.0.0.1:" + std::to_string(port_); }
  int connects(int version) const { return version == 5 ? v5_ : v4_; }

 private:
  void serve() {
    while (!stopping_) {
      const int fd = ::accept(listener_, nullptr, nullptr);
      if (fd < 0) return;
      current_ = fd;
      talk(fd);
      current_ = -1;
      ::close(fd);
    }
  }
  // One packet: its first byte and its body; an empty body at the end of the link.
  static bool packet(int fd, unsigned char& first, Bytes& body) {
    if (::recv(fd, &first, 1, MSG_WAITALL) != 1) return false;
    std::size_t length = 0;
    for (int shift = 0;; shift += 7) {
      unsigned char byte = 0;
      if (::recv(fd, &byte, 1, MSG_WAITALL) != 1) return false;
      length |= static_cast<std::size_t>(byte & 0x7F) << shift;
      if ((byte & 0x80) == 0) break;
    }
    body.resize(length);
    return length == 0 ||
           ::recv(fd, body.data(), length, MSG_WAITALL) == static_cast<ssize_t>(length);
  }
  static void say(int fd, const Bytes& bytes) {
    ::send(fd, bytes.data(), bytes.size(), MSG_NOSIGNAL);
  }
  void talk(int fd) {
    unsigned char first = 0;
    Bytes body;
    while (packet(fd, first, body)) {
      switch (first >> 4) {
        case 1: {  // CONNECT: the version stands behind the six bytes of the name
          const int version = body.at(6);
          ++(version == 5 ? v5_ : v4_);
          if (way_ == Way::silent) break;
          if (version == 5 && way_ == Way::hangs_up_on_v5) return;
          if (version == 5 && way_ == Way::refuses_v5) {
            say(fd, {0x20, 0x03, 0x00, 0x84, 0x00});
            return;
          }
          say(fd,
              version == 5 ? Bytes{0x20, 0x03, 0x00, 0x00, 0x00} : Bytes{0x20, 0x02, 0x00, 0x00});
          if (way_ == Way::takes_over) {
            // Both SUBSCRIBEs: whoever sends them has read that it is accepted.
            if (packet(fd, first, body) && packet(fd, first, body))
              say(fd, {0xE0, 0x02, 0x8E, 0x00});
            return;
          }
          break;
        }
        case 3:  // PUBLISH at QoS 1: the identifier stands behind the topic
          if ((first & 6) == 2) {
            const std::size_t at = 2 + static_cast<std::size_t>(body.at(0)) * 256 + body.at(1);
            say(fd, {0x40, 0x02, body.at(at), body.at(at + 1)});
          }
          break;
        case 8: {  // SUBSCRIBE, one filter: "barn/#" is refused
          const std::string filter(body.begin() + 4, body.end() - 1);
          const unsigned char code = filter == "barn/#" ? 0x80 : 0x01;
          say(fd, {0x90, 0x03, body.at(0), body.at(1), code});
          break;
        }
        case 12:
          say(fd, {0xD0, 0x00});
          break;
        default:
          break;
      }
    }
  }

  const Way way_;
  int listener_;
  int port_ = 0;
  std::atomic<bool> stopping_{false};
  std::atomic<int> current_{-1};
  std::atomic<int> v5_{0};
  std::atomic<int> v4_{0};
  std::thread thread_;
};

TEST(OddBroker, ThatRefusesVersion5IsSpokenToInVersion311) {
  const OddBroker broker(OddBroker::Way::refuses_v5);
  MqttOptions options = options_for(broker.url());
  options.filters = {"farm/#", "barn/#"};
  Listener listener(options);
  ASSERT_TRUE(listener.sees(LinkState::connected)) << listener.all();
  const Heard* refused = listener.link(LinkState::subscription_refused);
  ASSERT_NE(nullptr, refused) << listener.all();
  EXPECT_EQ("barn/#", refused->topic);
  EXPECT_EQ("MQTT 3.1.1", listener.link(LinkState::connected)->payload);
  EXPECT_EQ(1, broker.connects(5));
  EXPECT_EQ(1, broker.connects(4));
  EXPECT_EQ(0, listener.links(LinkState::refused)) << listener.all();
  EXPECT_TRUE(listener.client.stop(Span{10'000}));
}

TEST(OddBroker, ThatHangsUpOnVersion5IsSpokenToInVersion311) {
  const OddBroker broker(OddBroker::Way::hangs_up_on_v5);
  Listener listener(options_for(broker.url()));
  ASSERT_TRUE(listener.sees(LinkState::connected)) << listener.all();
  // 5 had a second chance, in case the broker was only starting the first time.
  EXPECT_EQ(2, broker.connects(5));
  EXPECT_EQ(2, broker.connects(4));
  EXPECT_TRUE(listener.client.stop(Span{10'000}));
}

TEST(OddBroker, ThatNamesATakeOverIsBelieved) {
  const OddBroker broker(OddBroker::Way::takes_over);
  Listener listener(options_for(broker.url()));
  const Heard* taken = listener.link(LinkState::taken_over);
  ASSERT_NE(nullptr, taken) << listener.all();
  EXPECT_EQ("another client connects with our client id clutchward-test", taken->payload);
  EXPECT_EQ("the broker ended the link: Session taken over",
            listener.link(LinkState::lost)->payload);
  // Told twice, it waits for a minute.
  ASSERT_TRUE(listener.sees(LinkState::taken_over, 2)) << listener.all();
  nap(2500);  // past a second's pause and its jitter
  EXPECT_EQ(2, broker.connects(5));
}

TEST(OddBroker, ThatNeverAnswersIsGivenUpAndTriedAgain) {
  const OddBroker broker(OddBroker::Way::silent);
  Listener listener(options_for(broker.url()));
  const Heard* unreachable = listener.link(LinkState::unreachable);
  ASSERT_NE(nullptr, unreachable) << listener.all();
  EXPECT_EQ("no connection to the broker: TCP connect timeout", unreachable->payload);
  ASSERT_TRUE(eventually([&] { return broker.connects(5) + broker.connects(4) > 1; }));
  EXPECT_TRUE(listener.client.stop(Span{4000}));  // not after the 5 s of the connect that runs
}

}  // namespace
}  // namespace clutchward::ingest_test
