// An ordered set of (time, item) in which an item's time can be moved: the engine's deadlines. The
// item's rank (its id, as bytes) settles equal times.
#pragma once

#include <cstdint>
#include <vector>

namespace clutchward {

template <class Less>  // Less(item, item): order of items at the same time
class DeadlineHeap {
 public:
  explicit DeadlineHeap(Less less) : less_(less) {}

  bool empty() const { return heap_.empty(); }
  std::uint32_t top() const { return heap_.front().item; }
  std::int64_t top_time() const { return heap_.front().time; }

  void set(std::uint32_t item, std::int64_t time) {
    if (item >= place_.size()) place_.resize(item + 1, kNowhere);
    if (place_[item] == kNowhere) {
      place_[item] = static_cast<std::uint32_t>(heap_.size());
      heap_.push_back({time, item});
      up(place_[item]);
      return;
    }
    const std::uint32_t at = place_[item];
    heap_[at].time = time;
    up(at);
    down(place_[item]);
  }

  void remove(std::uint32_t item) {
    if (item >= place_.size() || place_[item] == kNowhere) return;
    const std::uint32_t at = place_[item];
    place_[item] = kNowhere;
    const Entry last = heap_.back();
    heap_.pop_back();
    if (at == heap_.size()) return;
    put(at, last);
    up(at);
    down(place_[last.item]);
  }

 private:
  struct Entry {
    std::int64_t time;
    std::uint32_t item;
  };
  static constexpr std::uint32_t kNowhere = UINT32_MAX;

  bool before(const Entry& a, const Entry& b) const {
    return a.time != b.time ? a.time < b.time : less_(a.item, b.item);
  }
  void put(std::uint32_t at, Entry entry) {
    heap_[at] = entry;
    place_[entry.item] = at;
  }
  void up(std::uint32_t at) {
    const Entry entry = heap_[at];
    while (at > 0 && before(entry, heap_[(at - 1) / 2])) {
      put(at, heap_[(at - 1) / 2]);
      at = (at - 1) / 2;
    }
    put(at, entry);
  }
  void down(std::uint32_t at) {
    const Entry entry = heap_[at];
    for (;;) {
      std::uint32_t child = 2 * at + 1;
      if (child >= heap_.size()) break;
      if (child + 1 < heap_.size() && before(heap_[child + 1], heap_[child])) ++child;
      if (!before(heap_[child], entry)) break;
      put(at, heap_[child]);
      at = child;
    }
    put(at, entry);
  }

  Less less_;
  std::vector<Entry> heap_;
  std::vector<std::uint32_t> place_;
};

}  // namespace clutchward
