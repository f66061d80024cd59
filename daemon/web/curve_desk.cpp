// Curves that are ready, and who waits for one.
#include "web/curve_desk.h"

#include <algorithm>
#include <deque>
#include <set>
#include <vector>

#include "base/limits.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

// A phone on its feet notices half a second; a curve of one cabinet takes a tenth of that (our own
// choice, measured).
constexpr Span kPatience = 500ms;
constexpr Span kFresh = 1min;  // the history gets no finer

}  // namespace

struct CurveDesk::Parts {
  struct Ready {
    std::string key;
    Curve curve;
    Steady until{};
  };
  struct Waiting {
    std::string key;
    Done done;
    Steady until{};
  };
  std::deque<Ready> ready;  // newest last
  std::vector<Waiting> waiting;
  std::set<std::string> asked;

  const Ready* find(const std::string& key, Steady now) const {
    for (const Ready& each : ready)
      if (each.key == key && now < each.until) return &each;
    return nullptr;
  }

  // Whoever is told may ask again: the list is whole before anybody is.
  template <class Which>
  void tell(const Curve& curve, const Which& which) {
    std::vector<Done> told;
    std::erase_if(waiting, [&](Waiting& each) {
      if (!which(each)) return false;
      told.push_back(std::move(each.done));
      return true;
    });
    for (const Done& done : told) done(curve);
  }

  void came(const std::string& key, const Curve& curve, Steady until) {
    asked.erase(key);
    std::erase_if(ready, [&](const Ready& each) { return each.key == key; });
    if (curve) ready.push_back({key, curve, until});
    if (ready.size() > limits::kReadyCurves) ready.pop_front();
    tell(curve, [&](const Waiting& each) { return each.key == key; });
  }
};

CurveDesk::CurveDesk() : parts_(std::make_shared<Parts>()) {}

void CurveDesk::ask(const AskCurve& door, const std::string& key, CurveWanted wanted, Steady now,
                    Done done) {
  if (const auto* found = parts_->find(key, now)) return done(found->curve);
  if (!door) return done(nullptr);
  parts_->waiting.push_back({key, std::move(done), now + kPatience});
  if (!parts_->asked.insert(key).second) return;
  door(std::move(wanted),
       [parts = std::weak_ptr<Parts>(parts_), key, until = now + kFresh](const Curve& curve) {
         if (const auto there = parts.lock()) there->came(key, curve, until);
       });
}

void CurveDesk::turn(Steady now) {
  parts_->tell(nullptr, [&](const auto& each) { return each.until <= now; });
}

std::optional<Steady> CurveDesk::next() const {
  std::optional<Steady> next;
  for (const auto& each : parts_->waiting) next = next ? std::min(*next, each.until) : each.until;
  return next;
}

}  // namespace clutchward
