// Finds things by a key that they hold themselves: eight bytes a cell, open addressing. A map with
// the keys in its nodes would take ten times that a cabinet.
#pragma once

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <functional>
#include <optional>
#include <string_view>
#include <vector>

namespace clutchward {

class HashIndex {
 public:
  static std::uint32_t hash_of(std::string_view key) {
    const std::size_t hash = std::hash<std::string_view>{}(key);
    return static_cast<std::uint32_t>(hash ^ (hash >> 32));
  }

  std::size_t size() const { return size_; }

  // The first place with this hash of which `is_it(place)` holds.
  template <class IsIt>
  std::optional<std::uint32_t> find(std::uint32_t hash, IsIt&& is_it) const {
    if (cells_.empty()) return std::nullopt;
    const std::size_t mask = cells_.size() - 1;
    for (std::size_t at = hash & mask; cells_[at].place != kEmpty; at = (at + 1) & mask)
      if (cells_[at].hash == hash && cells_[at].place != kGone && is_it(cells_[at].place))
        return cells_[at].place;
    return std::nullopt;
  }

  // The caller has seen to it that it is not there.
  void insert(std::uint32_t hash, std::uint32_t place) {
    if ((used_ + 1) * 10 > cells_.size() * 7) rebuild();
    put(hash, place);
    ++size_;
    ++used_;
  }

  void erase(std::uint32_t hash, std::uint32_t place) {
    if (cells_.empty()) return;
    const std::size_t mask = cells_.size() - 1;
    for (std::size_t at = hash & mask; cells_[at].place != kEmpty; at = (at + 1) & mask)
      if (cells_[at].hash == hash && cells_[at].place == place) {
        cells_[at].place = kGone;
        --size_;
        return;
      }
  }

  void clear() {
    cells_ = std::vector<Cell>();
    size_ = used_ = 0;
  }

 private:
  static constexpr std::uint32_t kEmpty = UINT32_MAX;
  static constexpr std::uint32_t kGone = UINT32_MAX - 1;
  struct Cell {
    std::uint32_t hash = 0;
    std::uint32_t place = kEmpty;
  };

  void put(std::uint32_t hash, std::uint32_t place) {
    const std::size_t mask = cells_.size() - 1;
    std::size_t at = hash & mask;
    while (cells_[at].place != kEmpty) at = (at + 1) & mask;
    cells_[at] = {hash, place};
  }

  void rebuild() {
    std::size_t cells = 16;
    while ((size_ + 1) * 10 > cells * 5) cells *= 2;
    std::vector<Cell> old(cells);
    old.swap(cells_);
    used_ = size_;
    for (const Cell& cell : old)
      if (cell.place < kGone) put(cell.hash, cell.place);
  }

  std::vector<Cell> cells_;  // a power of two
  std::size_t size_ = 0;
  std::size_t used_ = 0;  // with those gone
};

}  // namespace clutchward
