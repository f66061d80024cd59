// The HTTP server: a Unix socket for the keeper's command and, where configured, a page on the
// network. Driven from outside: it has no thread but the one that looks passphrases up, and
// between two turns it does nothing. It knows of the engine only the functions of its door.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "base/result.h"
#include "base/time.h"
#include "base/tree.h"
#include "notification/notification.h"
#include "web/gate.h"
#include "web/web_door.h"

namespace clutchward {

// Silence after which a connection is closed: a phone on a bad link is slow, not that slow (common
// practice, no published source).
inline constexpr std::chrono::seconds kHttpIdle{30};

class WebServer {
 public:
  // All functions of `door` must be set.
  explicit WebServer(WebDoor door, std::chrono::seconds idle = kHttpIdle);
  // Answers what still waits for an outcome with "not known" and removes the socket's file.
  ~WebServer();
  WebServer(const WebServer&) = delete;
  WebServer& operator=(const WebServer&) = delete;

  // Listens at <state>/control.sock, mode 0660: whoever may open it may give commands. None, or why
  // not (in use, no folder, name too long); the server is then as it was.
  std::optional<Refusal> serve_control(const std::string& state_directory);
  // Listens on the network, in place of where it listened before; "" : nowhere. None, or why not;
  // it then goes on listening where it did.
  std::optional<Refusal> serve_page(const std::string& listen);

  // The same with people, TLS and a public address. What they say is in force even where the
  // listening fails.
  std::optional<Refusal> serve_page(PageTerms terms);

  // Who is logged in and the keys of the links: takes them from what was kept, and hands out what
  // is to be kept ("site/sessions", "site/link-keys", "site/looks").
  void restore(const std::vector<std::pair<std::string, Tree>>& kept);
  std::vector<Change> take_changes();

  // What has happened and is durable: for the pages that are open, and for those opened later.
  void tell(const std::vector<AlarmEvent>& events);
  // What happened before the start, as the history has it, in order.
  void recall(std::vector<AlarmEvent> events);
  // The addresses by which the message can be answered.
  MessageLinks links_for(const Notification& message);

  // An epoll descriptor that is readable while there is something to do; never changes.
  int descriptor() const;
  // Does what can be done without waiting. Answers of commands may be given between turns or in
  // one.
  void turn();
  // Whether an answer over very many cabinets is in the making, for which memory is taken.
  bool gathers() const;
  // The longest that the caller may wait before the next turn; none: until the descriptor says so.
  std::optional<Span> timeout() const;

 private:
  struct Parts;
  std::unique_ptr<Parts> parts_;
};

// The keeper's command looks for it there.
std::string control_socket_path(const std::string& state_directory);

}  // namespace clutchward
