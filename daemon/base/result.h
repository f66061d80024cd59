// A value, or the sentence that says why there is none. For the world misbehaving; our own bugs are
// assertions.
#pragma once

#include <optional>
#include <string>
#include <utility>

namespace clutchward {

struct Refusal {
  std::string why;
  bool operator==(const Refusal&) const = default;
};

template <class T>
class Result {
 public:
  Result(T value) : value_(std::move(value)) {}              // NOLINT: implicit by design
  Result(Refusal refusal) : refusal_(std::move(refusal)) {}  // NOLINT: implicit by design
  explicit operator bool() const { return value_.has_value(); }
  T& operator*() { return *value_; }
  const T& operator*() const { return *value_; }
  T* operator->() { return &*value_; }
  const T* operator->() const { return &*value_; }
  const std::string& why() const { return refusal_.why; }

 private:
  std::optional<T> value_;
  Refusal refusal_;
};

}  // namespace clutchward
