// What the benchmark programs share: clocks, a bare MQTT 3.1.1 publisher on a socket (cheap enough
// not to be what is measured) and an HTTP receiver that only notes arrivals. It measures nothing.
#pragma once

#include <arpa/inet.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <string>
#include <string_view>
#include <vector>

namespace bench {

inline double seconds(clockid_t clock = CLOCK_MONOTONIC) {
  timespec time{};
  ::clock_gettime(clock, &time);
  return static_cast<double>(time.tv_sec) + static_cast<double>(time.tv_nsec) * 1e-9;
}

[[noreturn]] inline void die(const char* what) {
  std::perror(what);
  std::exit(1);
}

// Deterministic: every run sends and visits the same.
struct Random {
  std::uint64_t state = 0x9E3779B97F4A7C15ULL;
  std::uint64_t next() {
    state ^= state << 13;
    state ^= state >> 7;
    return state ^= state << 17;
  }
  std::uint64_t below(std::uint64_t bound) { return next() % bound; }
};

inline sockaddr_in loopback(int port) {
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_port = htons(static_cast<std::uint16_t>(port));
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  return address;
}

inline void no_delay(int socket) {
  const int on = 1;
  ::setsockopt(socket, IPPROTO_TCP, TCP_NODELAY, &on, sizeof on);
}

inline bool readable(int socket, int timeout_ms) {
  pollfd wanted{socket, POLLIN, 0};
  return ::poll(&wanted, 1, timeout_ms) > 0;
}

class Mqtt {
 public:
  Mqtt(int port, std::string_view client_id) : socket_(::socket(AF_INET, SOCK_STREAM, 0)) {
    const sockaddr_in address = loopback(port);
    if (::connect(socket_, reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0)
      die("connect to the broker");
    no_delay(socket_);
    std::string body("\0\4MQTT\4\2\0\0", 10);  // clean session, no keep-alive
    append_text(body, client_id);
    send(packet(0x10, body));
    receive(5000, [](std::string_view, std::string_view) {});
  }
  ~Mqtt() { ::close(socket_); }
  Mqtt(const Mqtt&) = delete;
  Mqtt& operator=(const Mqtt&) = delete;

  int socket() const { return socket_; }

  // QoS 0; returns once the broker has answered.
  void subscribe(std::string_view filter) {
    std::string body("\0\1", 2);
    append_text(body, filter);
    body += '\0';
    send(packet(0x82, body));
    receive(5000, [](std::string_view, std::string_view) {});
  }

  // Acknowledgements of QoS 1 are read and not looked at.
  static void append_publish(std::string& out, std::string_view topic, std::string_view payload,
                             int qos) {
    std::string body;
    append_text(body, topic);
    if (qos > 0) body.append("\1\1", 2);  // the broker answers each; one id serves them all
    body.append(payload);
    out += packet(static_cast<char>(0x30 | (qos << 1)), body);
  }

  void send(std::string_view bytes) {
    while (!bytes.empty()) {
      const ssize_t sent = ::send(socket_, bytes.data(), bytes.size(), MSG_NOSIGNAL);
      if (sent <= 0) die("send to the broker");
      bytes.remove_prefix(static_cast<std::size_t>(sent));
    }
  }

  // Takes one read's worth of packets; visit(topic, payload) for each message (QoS 0 only). False
  // where nothing came within the time.
  template <class Visit>
  bool receive(int timeout_ms, Visit&& visit) {
    if (!readable(socket_, timeout_ms)) return false;
    char bytes[65536];
    const ssize_t got = ::recv(socket_, bytes, sizeof bytes, 0);
    if (got <= 0) die("the broker closed the connection");
    buffer_.append(bytes, static_cast<std::size_t>(got));
    std::size_t at = 0;
    for (;;) {
      std::size_t length = 0;
      std::size_t head = at + 1;
      bool whole = false;
      for (int shift = 0; head < buffer_.size() && !whole; shift += 7) {
        const auto byte = static_cast<unsigned char>(buffer_[head++]);
        length |= static_cast<std::size_t>(byte & 0x7F) << shift;
        whole = (byte & 0x80) == 0;
      }
      if (!whole || head + length > buffer_.size()) break;
      const std::string_view body = std::string_view(buffer_).substr(head, length);
      if ((buffer_[at] & 0xF0) == 0x30) {
        const std::size_t topic =
            static_cast<std::size_t>(static_cast<unsigned char>(body[0])) * 256 +
            static_cast<unsigned char>(body[1]);
        visit(body.substr(2, topic), body.substr(2 + topic));
      }
      at = head + length;
    }
    buffer_.erase(0, at);
    return true;
  }

 private:
  static void append_text(std::string& out, std::string_view text) {
    out += static_cast<char>(text.size() >> 8);
    out += static_cast<char>(text.size() & 0xFF);
    out.append(text);
  }
  static std::string packet(char type, std::string_view body) {
    std::string out(1, type);
    std::size_t length = body.size();
    do {
      const auto low = static_cast<unsigned char>(length & 0x7F);
      length >>= 7;
      out += static_cast<char>(length > 0 ? low | 0x80 : low);
    } while (length > 0);
    return out.append(body);
  }

  int socket_;
  std::string buffer_;
};

// Answers every POST with 204; connections stay open.
class Receiver {
 public:
  explicit Receiver(int port) : listener_(::socket(AF_INET, SOCK_STREAM, 0)) {
    const int on = 1;
    ::setsockopt(listener_, SOL_SOCKET, SO_REUSEADDR, &on, sizeof on);
    const sockaddr_in address = loopback(port);
    if (::bind(listener_, reinterpret_cast<const sockaddr*>(&address), sizeof address) != 0 ||
        ::listen(listener_, 64) != 0)
      die("listen for webhooks");
  }

  // Waits for the sockets and `also`, then visit(body) for each request that is whole.
  template <class Visit>
  void pump(int timeout_ms, int also, Visit&& visit) {
    std::vector<pollfd> wanted{{listener_, POLLIN, 0}, {also, POLLIN, 0}};
    for (const Connection& each : connections_) wanted.push_back({each.socket, POLLIN, 0});
    if (::poll(wanted.data(), wanted.size(), timeout_ms) <= 0) return;
    for (std::size_t i = connections_.size(); i-- > 0;)
      if (wanted[i + 2].revents != 0 && !take(connections_[i], visit)) {
        ::close(connections_[i].socket);
        connections_.erase(connections_.begin() + static_cast<std::ptrdiff_t>(i));
      }
    if (wanted[0].revents == 0) return;
    const int socket = ::accept(listener_, nullptr, nullptr);
    if (socket < 0) return;
    no_delay(socket);
    connections_.push_back({socket, {}});
  }

 private:
  struct Connection {
    int socket;
    std::string bytes;
  };

  template <class Visit>
  static bool take(Connection& connection, Visit& visit) {
    char bytes[65536];
    const ssize_t got = ::recv(connection.socket, bytes, sizeof bytes, 0);
    if (got <= 0) return false;
    connection.bytes.append(bytes, static_cast<std::size_t>(got));
    for (;;) {
      const std::size_t head = connection.bytes.find("\r\n\r\n");
      if (head == std::string::npos) return true;
      const std::size_t field = connection.bytes.find("Content-Length: ");
      const std::size_t length =
          field < head ? std::strtoul(connection.bytes.c_str() + field + 16, nullptr, 10) : 0;
      if (connection.bytes.size() < head + 4 + length) return true;
      visit(std::string_view(connection.bytes).substr(head + 4, length));
      connection.bytes.erase(0, head + 4 + length);
      static constexpr std::string_view kAnswer = "HTTP/1.1 204 No Content\r\n\r\n";
      if (::send(connection.socket, kAnswer.data(), kAnswer.size(), MSG_NOSIGNAL) < 0) return false;
    }
  }

  int listener_;
  std::vector<Connection> connections_;
};

}  // namespace bench
