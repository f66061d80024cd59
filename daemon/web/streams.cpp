// The open streams.
#include "web/streams.h"

#include <algorithm>

#include "base/limits.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

// The script calls the page stale after two and a half of them: within 30 s.
constexpr Span kBeat = 10s;

}  // namespace

Answer Streams::open(Steady now) {
  std::erase_if(*streams_, [](const auto& each) { return !each->send(""); });
  if (streams_->size() >= limits::kEventStreams)
    return sentence(503, "Too many pages are open; this one renews itself the plain way.");
  if (streams_->empty()) beat_at_ = now + kBeat;
  Answer answer{200, "text/event-stream", "retry: 3000\n\nevent: beat\ndata:\n\n", "", {}, {}};
  answer.stream = [streams = streams_](std::shared_ptr<Stream> stream) {
    streams->push_back(std::move(stream));
  };
  return answer;
}

void Streams::send(std::string_view text) {
  std::erase_if(*streams_, [&](const auto& each) { return !each->send(text); });
}

void Streams::tell_change(Steady now) {
  send("event: change\ndata:\n\n");
  beat_at_ = now + kBeat;
}

void Streams::beat(Steady now) {
  if (streams_->empty() || now < beat_at_) return;
  send("event: beat\ndata:\n\n");
  beat_at_ = now + kBeat;
}

std::optional<Steady> Streams::next_beat() const {
  if (streams_->empty()) return std::nullopt;
  return beat_at_;
}

}  // namespace clutchward
