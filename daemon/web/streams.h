// Server-sent events (WHATWG HTML, section 9.2): an open page hears that something has changed and
// asks for itself anew. The page is right without them.
#pragma once

#include <memory>
#include <optional>
#include <string_view>
#include <vector>

#include "base/time.h"
#include "web/exchange.h"

namespace clutchward {

class Streams {
 public:
  // The answer that begins a stream, or a refusal where there are too many.
  Answer open(Steady now);
  // Tells every reader that something has changed.
  void tell_change(Steady now);
  // A sign of life for each, where it is due.
  void beat(Steady now);
  std::optional<Steady> next_beat() const;
  std::size_t size() const { return streams_->size(); }

 private:
  void send(std::string_view text);

  using List = std::vector<std::shared_ptr<Stream>>;
  std::shared_ptr<List> streams_ = std::make_shared<List>();
  Steady beat_at_{};
};

}  // namespace clutchward
