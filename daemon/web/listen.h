// The two sockets that the web server listens on: opened, and taken away again. Serves nothing.
#pragma once

#include <string>
#include <utility>

#include "base/result.h"

namespace clutchward {

// A listening socket that closes with its owner.
class ListeningSocket {
 public:
  ListeningSocket() = default;
  explicit ListeningSocket(int descriptor) : descriptor_(descriptor) {}
  ListeningSocket(ListeningSocket&& other) noexcept
      : descriptor_(std::exchange(other.descriptor_, -1)) {}
  ListeningSocket& operator=(ListeningSocket&& other) noexcept;
  ~ListeningSocket();

  int descriptor() const { return descriptor_; }
  // Hands the descriptor over: whoever takes it closes it.
  int release() { return std::exchange(descriptor_, -1); }

 private:
  int descriptor_ = -1;
};

// A Unix socket at `path`, mode 0660 from the moment it can be seen there. One that a dead program
// left behind is replaced in one step; refused where a living one answers at it or where something
// else than a socket stands there. Leaves the folder as it is.
Result<ListeningSocket> listen_at_path(const std::string& path);

// "127.0.0.1:8742" or "[::1]:8742".
Result<ListeningSocket> listen_at_address(const std::string& address);

// The host of such an address, without port and brackets; "" where it is none.
std::string host_of(const std::string& address);

// Removes the socket file at `path` if it is still the one that `descriptor` is bound to be.
struct SocketFile {
  std::string path;
  unsigned long device = 0;
  unsigned long inode = 0;
};
SocketFile socket_file(const std::string& path);
void remove_if_same(const SocketFile& file);

}  // namespace clutchward
