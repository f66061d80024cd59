// One listening socket served by GNU libmicrohttpd without a thread of its own: requests become
// values, answers become responses. Everything that names the library is in http_daemon.cpp.
#pragma once

#include <chrono>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "base/result.h"
#include "base/time.h"
#include "web/exchange.h"
#include "web/listen.h"

namespace clutchward {

struct HttpTerms {
  Entrance entrance = Entrance::network;
  std::vector<std::string> own_hosts;  // network: the host listened at, that of the public address
  std::string certificate;             // PEM, with its key: TLS; "" : none
  std::string key;
  unsigned connections = 1;
  unsigned per_address = 0;  // 0: no limit (a Unix socket has one address)
  std::chrono::seconds idle{30};
  bool operator==(const HttpTerms&) const = default;
};

class HttpDaemon {
 public:
  // Given a request, answers through the function, exactly once: within the call or later, on the
  // same thread; an answer that comes after the connection or the daemon is gone is dropped.
  using Handler = std::function<void(const Request&, Respond)>;

  static Result<std::unique_ptr<HttpDaemon>> start(ListeningSocket socket, HttpTerms terms,
                                                   Handler handler);
  // Connections whose answer is still out get 503 and are closed.
  ~HttpDaemon();
  HttpDaemon(const HttpDaemon&) = delete;
  HttpDaemon& operator=(const HttpDaemon&) = delete;

  int descriptor() const;
  void turn();
  std::optional<Span> timeout() const;

 private:
  struct Parts;
  explicit HttpDaemon(std::unique_ptr<Parts> parts);
  std::unique_ptr<Parts> parts_;
};

}  // namespace clutchward
