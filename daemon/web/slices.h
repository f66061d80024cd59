// Answers that tell of every cabinet, made a part a turn: between two parts the loop takes
// readings, raises alarms and serves others. Knows no cabinet and no clock.
#pragma once

#include <cstddef>
#include <deque>
#include <functional>
#include <utility>

namespace clutchward {

// So many are gathered at a time: each may grow to 20 MB at ten thousand cabinets.
inline constexpr std::size_t kSlicedAnswers = 4;

class Slices {
 public:
  // Does one part of the work; true once that was the last.
  using Step = std::function<bool()>;

  // The first part is done within the call, unless others wait: a small site has no other.
  void begin(Step step);
  // One part of the one whose turn it is. kSlicedAnswers take turns; more wait for them, so
  // that no more than those hold what they have gathered.
  void turn();
  bool any() const { return !waiting_.empty(); }

 private:
  std::deque<Step> waiting_;
};

// Gives what `part(from, most)` hands out to `each`, `most` of them a turn, until it hands out
// fewer; then calls `done`. All three are copied.
template <class Part, class Each, class Done>
void in_slices(Slices& slices, std::size_t most, Part part, Each each, Done done) {
  slices.begin([from = std::size_t{0}, most, part, each, done]() mutable {
    auto some = part(from, most);
    for (auto& one : some) each(std::move(one));
    from += most;
    if (some.size() == most) return false;
    done();
    return true;
  });
}

}  // namespace clutchward
