// Keeps, sorts and writes faults.
#include "config/problem.h"

#include <algorithm>
#include <tuple>
#include <utility>

#include "base/text.h"

namespace clutchward {

namespace {

// By place alone: faults of one place stay in the order in which they were found.
void sort_by_place(std::vector<Problem>& problems) {
  std::stable_sort(problems.begin(), problems.end(), [](const Problem& a, const Problem& b) {
    return std::tie(a.file, a.line, a.column) < std::tie(b.file, b.line, b.column);
  });
}

}  // namespace

std::string to_text(const Problem& problem) {
  return problem.file + ":" + std::to_string(problem.line) + ":" + std::to_string(problem.column) +
         ": " + problem.what;
}

void Faults::add(Place place, std::string what, bool about_other_file) {
  if (problems_.size() >= kMost) {
    ++unlisted_;
    return;
  }
  problems_.push_back({file_, place.line, place.column, std::move(what), about_other_file});
}

void Faults::warn(Place place, std::string what) {
  if (warnings_.size() < kMost) {
    warnings_.push_back({file_, place.line, place.column, std::move(what)});
  }
}

std::string Faults::did_you_mean(std::string_view word, const std::vector<std::string>& known) {
  // One letter is near to every other; long words are no slip of the pen, and comparing costs the
  // product of the lengths.
  constexpr std::size_t kLongestWord = 64;
  if (word.size() < 2 || word.size() > kLongestWord || known.size() > words_left_) return "";
  words_left_ -= known.size();
  const std::string near = nearest_word(word, known);
  return near.empty() || near == word ? "" : "; did you mean \"" + near + "\"?";
}

std::vector<Problem> Faults::problems() const {
  std::vector<Problem> sorted = problems_;
  sort_by_place(sorted);
  if (unlisted_ > 0) {
    Problem rest = sorted.back();
    rest.what = std::to_string(unlisted_) + " more faults are not listed; mend these first";
    sorted.push_back(std::move(rest));
  }
  return sorted;
}

std::vector<Problem> Faults::warnings() const {
  std::vector<Problem> sorted = warnings_;
  sort_by_place(sorted);
  return sorted;
}

}  // namespace clutchward
