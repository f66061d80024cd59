// How long to wait before the next try to connect, and when losses mean that somebody else uses our
// client id. Plain arithmetic; the waiting is done elsewhere.
#pragma once

#include <algorithm>
#include <cstdint>
#include <optional>

#include "base/time.h"

namespace clutchward {

class BackOff {
 public:
  // One second so that a broker's restart is hardly noticed, half a minute so that a broker away
  // for a night costs nothing and its return is seen well within any silence rule.
  static constexpr Span kFirst{1'000};
  static constexpr Span kLast{30'000};
  // Two that cut each other at a minute's distance both work most of the time.
  static constexpr Span kTakenOver{60'000};
  // A link that dies younger than this never worked; one that lived longer starts from kFirst.
  static constexpr Span kYoung{5'000};
  // More young losses in a row than this are no accident.
  static constexpr int kYoungLosses = 3;
  // A take-over this long ago says nothing about the next one.
  static constexpr Span kForgotten{300'000};

  // The wait before the next try, with up to a quarter more by `random`, so that a farm's clients
  // do not come back all at once.
  Span failed(std::uint32_t random) {
    // A broker that is away now broke the link itself.
    young_losses_ = 0;
    return jittered(step(), random);
  }

  // An established link ended after `lived`; `named` where the broker said itself that the session
  // was taken over.
  Span lost(Span lived, bool named, std::uint32_t random) {
    if (lived >= kYoung) {
      young_losses_ = 0;
      wait_ = kFirst;
    } else {
      ++young_losses_;
    }
    if (lived >= kForgotten) named_ = 0;
    named_ = named ? named_ + 1 : 0;
    if (taken_over()) return jittered(kTakenOver, random);
    return jittered(step(), random);
  }

  // Whether the losses so far look like two with one client id: told so twice in a row, or more
  // than three young losses in a row with no failed try between them.
  bool taken_over() const { return named_ >= 2 || young_losses_ > kYoungLosses; }

 private:
  static Span jittered(Span wait, std::uint32_t random) {
    return wait + Span(wait.count() / 4 * (random % 1024) / 1024);
  }
  Span step() {
    const Span wait = wait_;
    wait_ = std::min(wait_ * 2, kLast);
    return wait;
  }

  Span wait_ = kFirst;
  int young_losses_ = 0;
  int named_ = 0;
};

}  // namespace clutchward
