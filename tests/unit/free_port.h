// A port for a server that a test is about to start.
#pragma once

#include <arpa/inet.h>
#include <gtest/gtest.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include <cstddef>
#include <cstdint>
#include <random>
#include <string>

namespace clutchward::test {

// One that was free a moment ago, below the range from which the system takes those of outgoing
// connections (32768 and up on Linux): thousands of them, in a test beside this one, cannot take
// it. No other test gets it until this process ends (the same as tests/ports.py).
inline std::uint16_t free_port() {
  std::random_device random;
  for (int tries = 0; tries < 1'000; ++tries) {
    const auto port = static_cast<std::uint16_t>(10'000 + random() % 22'000);
    sockaddr_un name{};  // an abstract one: its first byte is 0, and it goes with the process
    name.sun_family = AF_UNIX;
    const std::string text = "clutchward-test-port-" + std::to_string(port);
    text.copy(name.sun_path + 1, sizeof name.sun_path - 1);
    const auto length = static_cast<socklen_t>(offsetof(sockaddr_un, sun_path) + 1 + text.size());
    const int claim = ::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
    bool free = ::bind(claim, reinterpret_cast<sockaddr*>(&name), length) == 0;
    sockaddr_in address{};
    address.sin_family = AF_INET;
    address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
    address.sin_port = htons(port);
    const int socket = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
    free = free && ::bind(socket, reinterpret_cast<sockaddr*>(&address), sizeof address) == 0;
    ::close(socket);
    if (free) return port;
    ::close(claim);
  }
  ADD_FAILURE() << "no port is free";
  return 0;
}

}  // namespace clutchward::test
