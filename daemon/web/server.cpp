// Two listeners behind one descriptor.
#include "web/server.h"

#include <sys/epoll.h>
#include <unistd.h>

#include <algorithm>

#include "base/check.h"
#include "base/limits.h"
#include "web/http_daemon.h"
#include "web/routes.h"

namespace clutchward {

struct WebServer::Parts {
  WebDoor door;
  std::chrono::seconds idle;
  int epoll = -1;
  std::unique_ptr<HttpDaemon> control;
  std::unique_ptr<HttpDaemon> page;
  std::string page_address;
  SocketFile control_file;

  std::optional<Refusal> open(ListeningSocket socket, HttpTerms terms,
                              std::unique_ptr<HttpDaemon>& into) {
    terms.idle = idle;
    auto started = HttpDaemon::start(std::move(socket), std::move(terms),
                                     [this](const Request& request, Respond respond) {
                                       answer(door, request, std::move(respond));
                                     });
    if (!started) return Refusal{started.why()};
    into = std::move(*started);
    epoll_event interest{};
    interest.events = EPOLLIN;
    CHECK(::epoll_ctl(epoll, EPOLL_CTL_ADD, into->descriptor(), &interest) == 0);
    return std::nullopt;
  }
};

WebServer::WebServer(WebDoor door, std::chrono::seconds idle) : parts_(std::make_unique<Parts>()) {
  CHECK(door.cabinets && door.cabinet && door.command && door.watch);
  parts_->door = std::move(door);
  parts_->idle = idle;
  parts_->epoll = ::epoll_create1(EPOLL_CLOEXEC);
  CHECK(parts_->epoll >= 0);
}

WebServer::~WebServer() {
  remove_if_same(parts_->control_file);
  parts_->control.reset();
  parts_->page.reset();
  ::close(parts_->epoll);
}

std::optional<Refusal> WebServer::serve_control(const std::string& state_directory) {
  const std::string path = control_socket_path(state_directory);
  auto socket = listen_at_path(path);
  if (!socket) return Refusal{socket.why()};
  parts_->control_file = socket_file(path);
  HttpTerms terms;
  terms.entrance = Entrance::control;
  terms.connections = limits::kControlConnections;
  return parts_->open(std::move(*socket), terms, parts_->control);
}

std::optional<Refusal> WebServer::serve_page(const std::string& listen) {
  if (listen == parts_->page_address) return std::nullopt;
  if (listen.empty()) {
    parts_->page.reset();
    parts_->page_address.clear();
    return std::nullopt;
  }
  auto socket = listen_at_address(listen);
  if (!socket) return Refusal{"page.listen " + socket.why()};
  HttpTerms terms;
  terms.own_host = host_of(listen);
  terms.connections = limits::kHttpConnections;
  terms.per_address = limits::kHttpConnectionsPerAddress;
  std::unique_ptr<HttpDaemon> page;
  if (auto refusal = parts_->open(std::move(*socket), terms, page)) return refusal;
  parts_->page = std::move(page);
  parts_->page_address = listen;
  return std::nullopt;
}

int WebServer::descriptor() const { return parts_->epoll; }

void WebServer::turn() {
  if (parts_->control) parts_->control->turn();
  if (parts_->page) parts_->page->turn();
}

std::optional<Span> WebServer::timeout() const {
  std::optional<Span> least;
  for (const auto* each : {parts_->control.get(), parts_->page.get()}) {
    if (each == nullptr) continue;
    const auto timeout = each->timeout();
    if (timeout) least = least ? std::min(*least, *timeout) : timeout;
  }
  return least;
}

std::string control_socket_path(const std::string& state_directory) {
  return state_directory + "/control.sock";
}

}  // namespace clutchward
