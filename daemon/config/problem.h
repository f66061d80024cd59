// Faults of a configuration, with the place where each stands. They are collected, never thrown: a
// keeper sees all of them at once. Nothing in here prints or decides whether to go on.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace clutchward {

// A place in a file, counted from 1; the column counts bytes, as compilers do.
struct Place {
  int line = 1;
  int column = 1;
  auto operator<=>(const Place&) const = default;
};

struct Problem {
  std::string file;
  int line = 1;
  int column = 1;
  std::string what;
  // The configuration itself is sound; a file that it names (a secret, a certificate) is not to be
  // had on this machine. Whoever sends nothing need not care.
  bool about_other_file = false;
  auto operator<=>(const Problem&) const = default;
};

// "FILE:LINE:COL: what".
std::string to_text(const Problem& problem);

// What one file's readers write their faults into. Bounded: past kMost further ones are only
// counted, and the list says so.
class Faults {
 public:
  // A keeper mends a handful before trying again; a hostile file could make 200,000.
  static constexpr std::size_t kMost = 200;

  explicit Faults(std::string file) : file_(std::move(file)) {}

  void add(Place place, std::string what, bool about_other_file = false);
  void warn(Place place, std::string what);
  bool none() const { return problems_.empty(); }
  const std::string& file() const { return file_; }

  // "; did you mean \"x\"?" where a known word is near, else "". Bounded in all: once some
  // thousands of words were compared there are no more hints, however many faults a file has.
  std::string did_you_mean(std::string_view word, const std::vector<std::string>& known);

  // Sorted by file, line and column.
  std::vector<Problem> problems() const;
  std::vector<Problem> warnings() const;

 private:
  std::string file_;
  std::vector<Problem> problems_;
  std::vector<Problem> warnings_;
  std::size_t unlisted_ = 0;
  std::size_t words_left_ = 50'000;  // well under a second of comparing
};

}  // namespace clutchward
