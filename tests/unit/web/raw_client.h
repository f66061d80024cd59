// Raw bytes over a real socket to a server that runs in the test's own loop: one thread, no library
// between the test and the wire.
#pragma once

#include <arpa/inet.h>
#include <fcntl.h>
#include <gtest/gtest.h>
#include <linux/sockios.h>
#include <netinet/in.h>
#include <poll.h>
#include <stdlib.h>
#include <sys/ioctl.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <algorithm>
#include <cstring>
#include <functional>
#include <string>

#include "../free_port.h"
#include "web/server.h"

namespace clutchward::test {

// A folder that goes with the test.
class Folder {
 public:
  Folder() {
    char name[] = "/tmp/clutchward-web-XXXXXX";
    path_ = ::mkdtemp(name);
  }
  ~Folder() {
    ::unlink((path_ + "/control.sock").c_str());
    ::unlink((path_ + "/control.sock.new").c_str());
    ::rmdir(path_.c_str());
  }
  const std::string& path() const { return path_; }

 private:
  std::string path_;
};

// One wait and one turn, as the daemon's loop does it.
inline void pump(WebServer& server, int milliseconds = 10) {
  if (const auto timeout = server.timeout())
    milliseconds = static_cast<int>(std::min<std::int64_t>(milliseconds, timeout->count()));
  pollfd wait{server.descriptor(), POLLIN, 0};
  ::poll(&wait, 1, milliseconds);
  server.turn();
}

class RawClient {
 public:
  RawClient() = default;
  explicit RawClient(const std::string& unix_path) {
    socket_ = ::socket(AF_UNIX, SOCK_STREAM | SOCK_NONBLOCK | SOCK_CLOEXEC, 0);
    sockaddr_un to{};
    to.sun_family = AF_UNIX;
    std::strncpy(to.sun_path, unix_path.c_str(), sizeof to.sun_path - 1);
    connected_ = ::connect(socket_, reinterpret_cast<sockaddr*>(&to), sizeof to) == 0;
  }
  explicit RawClient(std::uint16_t port) {
    socket_ = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    sockaddr_in to{};
    to.sin_family = AF_INET;
    to.sin_port = htons(port);
    to.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    // Waited for, or what is sent at once would be lost; the kernel answers for the server.
    connected_ = ::connect(socket_, reinterpret_cast<sockaddr*>(&to), sizeof to) == 0;
    ::fcntl(socket_, F_SETFL, O_NONBLOCK);
  }
  RawClient(RawClient&& other) noexcept
      : socket_(std::exchange(other.socket_, -1)),
        connected_(other.connected_),
        closed_(other.closed_),
        received_(std::move(other.received_)) {}
  ~RawClient() { hang_up(); }

  bool connected() const { return connected_; }
  bool closed() const { return closed_; }  // by the server
  const std::string& received() const { return received_; }
  void hang_up() {
    if (socket_ >= 0) ::close(std::exchange(socket_, -1));
  }

  // How many bytes were taken.
  std::size_t send(std::string_view bytes) {
    const auto sent = ::send(socket_, bytes.data(), bytes.size(), MSG_NOSIGNAL);
    return sent < 0 ? 0 : static_cast<std::size_t>(sent);
  }
  // Until the server's kernel has all that was sent: whoever counts turns begins then.
  void wait_arrived() const {
    int waiting = 0;
    for (int i = 0; i < 10'000; ++i) {
      if (::ioctl(socket_, SIOCOUTQ, &waiting) != 0 || waiting == 0) return;
      ::usleep(1000);
    }
  }
  void read() {
    char bytes[65536];
    for (;;) {
      const auto got = ::recv(socket_, bytes, sizeof bytes, 0);
      if (got > 0) received_.append(bytes, static_cast<std::size_t>(got));
      if (got == 0 || (got < 0 && errno != EAGAIN && errno != EWOULDBLOCK)) closed_ = true;
      if (got <= 0) return;
    }
  }
  // Turns until the server has closed, or `turns` are over.
  const std::string& finish(WebServer& server, int turns = 6000) {
    for (int i = 0; i < turns && !closed_; ++i) {
      pump(server);
      read();
    }
    return received_;
  }

  int status() const { return received_.size() < 12 ? 0 : std::stoi(received_.substr(9, 3)); }
  std::string body() const {
    const auto end = received_.find("\r\n\r\n");
    return end == std::string::npos ? "" : received_.substr(end + 4);
  }
  // The value of a response header, "" where it is not there.
  std::string header(const std::string& name) const {
    const auto found = received_.find("\r\n" + name + ": ");
    if (found == std::string::npos) return {};
    const auto from = found + name.size() + 4;
    return received_.substr(from, received_.find("\r\n", from) - from);
  }

 private:
  int socket_ = -1;
  bool connected_ = false;
  bool closed_ = false;
  std::string received_;
};

}  // namespace clutchward::test
