// Whose turn it is.
#include "web/slices.h"

#include <algorithm>

namespace clutchward {

void Slices::begin(Step step) {
  if (waiting_.empty() && step()) return;
  waiting_.push_back(std::move(step));
}

void Slices::turn() {
  if (waiting_.empty()) return;
  Step step = std::move(waiting_.front());
  waiting_.pop_front();
  if (step()) return;
  const auto place = std::min<std::size_t>(waiting_.size(), kSlicedAnswers - 1);
  waiting_.insert(waiting_.begin() + static_cast<std::ptrdiff_t>(place), std::move(step));
}

}  // namespace clutchward
