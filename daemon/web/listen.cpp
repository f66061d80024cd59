// Listening sockets.
#include "web/listen.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#include <cerrno>
#include <charconv>
#include <cstdio>
#include <cstring>
#include <optional>

namespace clutchward {
namespace {

// Connections that wait to be accepted: the loop comes by within milliseconds.
constexpr int kBacklog = 64;
constexpr mode_t kControlMode = 0660;

Refusal system_refusal(const std::string& where) {
  return Refusal{where + ": " + std::strerror(errno)};
}

std::optional<sockaddr_un> unix_address(const std::string& path) {
  sockaddr_un address{};
  address.sun_family = AF_UNIX;
  if (path.size() >= sizeof address.sun_path) return std::nullopt;
  std::memcpy(address.sun_path, path.c_str(), path.size() + 1);
  return address;
}

const sockaddr* generic(const void* address) { return static_cast<const sockaddr*>(address); }

bool somebody_listens(const sockaddr_un& address) {
  const ListeningSocket probe(::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0));
  if (probe.descriptor() < 0) return true;
  if (::connect(probe.descriptor(), generic(&address), sizeof address) == 0) return true;
  // EAGAIN: a full backlog, hence a living listener. Whatever else is unclear is left alone.
  return errno != ECONNREFUSED && errno != ENOENT;
}

// "" where `path` is free or holds a dead socket; else why it must not be touched.
std::string occupied(const std::string& path, const sockaddr_un& address) {
  struct stat there {};
  if (::lstat(path.c_str(), &there) != 0)
    return errno == ENOENT ? "" : path + ": " + std::strerror(errno);
  if (!S_ISSOCK(there.st_mode)) return path + " is there and is no socket: it is left alone";
  if (somebody_listens(address)) return path + " is in use: another daemon runs on this state";
  return {};
}

struct NetworkAddress {
  sockaddr_storage storage{};
  socklen_t length = 0;
};

std::optional<NetworkAddress> network_address(const std::string& text) {
  const std::string host = host_of(text);
  const std::string_view digits = std::string_view(text).substr(text.rfind(':') + 1);
  std::uint16_t port = 0;
  const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), port);
  if (host.empty() || error != std::errc() || end != digits.data() + digits.size())
    return std::nullopt;
  NetworkAddress address;
  auto* v4 = reinterpret_cast<sockaddr_in*>(&address.storage);
  auto* v6 = reinterpret_cast<sockaddr_in6*>(&address.storage);
  if (::inet_pton(AF_INET, host.c_str(), &v4->sin_addr) == 1) {
    v4->sin_family = AF_INET;
    v4->sin_port = htons(port);
    address.length = sizeof *v4;
  } else if (::inet_pton(AF_INET6, host.c_str(), &v6->sin6_addr) == 1) {
    v6->sin6_family = AF_INET6;
    v6->sin6_port = htons(port);
    address.length = sizeof *v6;
  } else {
    return std::nullopt;
  }
  return address;
}

}  // namespace

ListeningSocket& ListeningSocket::operator=(ListeningSocket&& other) noexcept {
  std::swap(descriptor_, other.descriptor_);
  return *this;
}

ListeningSocket::~ListeningSocket() {
  if (descriptor_ >= 0) ::close(descriptor_);
}

Result<ListeningSocket> listen_at_path(const std::string& path) {
  // Made beside its place and moved there: nobody ever meets it without its mode or not listening.
  const std::string made = path + ".new";
  const auto address = unix_address(path);
  const auto made_address = unix_address(made);
  if (!address || !made_address)
    return Refusal{path + " has " + std::to_string(path.size()) +
                   " bytes; the path of a socket takes at most " +
                   std::to_string(sizeof address->sun_path - 5) +
                   ": give a state folder with a shorter name"};
  for (const auto& [each, where] : {std::pair(path, *address), std::pair(made, *made_address)})
    if (const std::string why = occupied(each, where); !why.empty()) return Refusal{why};
  ::unlink(made.c_str());
  ListeningSocket socket(::socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0));
  if (socket.descriptor() < 0) return system_refusal(path);
  // On Linux the mode of an unbound socket is that of the file that binding makes of it.
  if (::fchmod(socket.descriptor(), 0600) != 0 ||
      ::bind(socket.descriptor(), generic(&*made_address), sizeof *made_address) != 0)
    return system_refusal(made);
  if (::listen(socket.descriptor(), kBacklog) != 0 || ::chmod(made.c_str(), kControlMode) != 0 ||
      std::rename(made.c_str(), path.c_str()) != 0) {
    const Refusal why = system_refusal(path);
    ::unlink(made.c_str());
    return why;
  }
  return socket;
}

Result<ListeningSocket> listen_at_address(const std::string& text) {
  const auto address = network_address(text);
  if (!address)
    return Refusal{"\"" + text + "\" is no address to listen at; expected such as 127.0.0.1:8742"};
  ListeningSocket socket(
      ::socket(address->storage.ss_family, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0));
  if (socket.descriptor() < 0) return system_refusal(text);
  const int on = 1;
  // A restart must not wait for the last run's closed connections; nor does [::] take IPv4's place.
  if (::setsockopt(socket.descriptor(), SOL_SOCKET, SO_REUSEADDR, &on, sizeof on) != 0 ||
      (address->storage.ss_family == AF_INET6 &&
       ::setsockopt(socket.descriptor(), IPPROTO_IPV6, IPV6_V6ONLY, &on, sizeof on) != 0) ||
      ::bind(socket.descriptor(), generic(&address->storage), address->length) != 0 ||
      ::listen(socket.descriptor(), kBacklog) != 0)
    return system_refusal(text);
  return socket;
}

std::string host_of(const std::string& address) {
  const auto colon = address.rfind(':');
  if (colon == std::string::npos || colon == 0) return {};
  const std::string host = address.substr(0, colon);
  if (host.front() != '[') return host;
  return host.back() == ']' ? host.substr(1, host.size() - 2) : std::string();
}

SocketFile socket_file(const std::string& path) {
  struct stat there {};
  if (::lstat(path.c_str(), &there) != 0) return {};
  return {path, there.st_dev, there.st_ino};
}

void remove_if_same(const SocketFile& file) {
  struct stat there {};
  if (file.path.empty() || ::lstat(file.path.c_str(), &there) != 0) return;
  if (there.st_dev == file.device && there.st_ino == file.inode) ::unlink(file.path.c_str());
}

}  // namespace clutchward
