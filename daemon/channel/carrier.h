// What every kind of channel looks like from the worker that drives it: one call that carries one
// message and says what became of it. A carrier decides nothing and remembers nothing between
// calls.
#pragma once

#include <chrono>
#include <functional>
#include <memory>
#include <optional>
#include <stop_token>
#include <string>

#include "cabinet/settings.h"
#include "notification/notification.h"

namespace clutchward {

// What became of one try. `detail` is printable and never holds a secret, an address with one in it
// or what the message says.
struct Carried {
  Outcome outcome = Outcome::delivered;
  std::string detail;
  std::optional<Span> retry_after;
};

// How long one try may take at each of its waits. The longest try is about total + server_response
// (libcurl's farewell to a mail server runs outside the total; seen with 7.88.1).
struct TimeLimits {
  std::chrono::seconds connect{15};          // common practice, no published source
  std::chrono::seconds total{60};            // common practice, no published source
  std::chrono::seconds server_response{20};  // a mail server may look through a mail at its end
  std::chrono::seconds stalled{20};          // under one byte a second for this long
};

// What a carrier is made of. The wall clock comes from outside: channel/ names none.
struct CarrierParts {
  std::string site;
  SmtpSettings smtp;
  TimeLimits limits;
  std::function<Wall()> wall_now;
};

class Carrier {
 public:
  virtual ~Carrier() = default;
  // What would keep every message from going out (a template that does not parse, a secret file
  // that is not there), as a sentence; "" for nothing. Reads files, connects to nobody.
  virtual std::string fault() const = 0;
  // One try. Ends within the time limits, and within about a second once `stop` is requested (then
  // the outcome is try_again). Called from one thread at a time; never throws.
  virtual Carried carry(const Notification& message, const std::stop_token& stop) = 0;
};

}  // namespace clutchward
