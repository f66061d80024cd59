// The heap of deadlines against an ordered set, by seed.
#include "engine/heap.h"

#include <gtest/gtest.h>

#include <map>
#include <random>
#include <set>

namespace clutchward {
namespace {

struct Backwards {  // equal times are settled by the items' own order, here falling
  bool operator()(std::uint32_t a, std::uint32_t b) const { return a > b; }
};
struct BySet {
  bool operator()(const std::pair<std::int64_t, std::uint32_t>& a,
                  const std::pair<std::int64_t, std::uint32_t>& b) const {
    return a.first != b.first ? a.first < b.first : a.second > b.second;
  }
};

TEST(DeadlineHeap, AgreesWithAnOrderedSet) {
  for (unsigned seed = 1; seed <= 50; ++seed) {
    SCOPED_TRACE(seed);
    std::mt19937 random(seed);
    DeadlineHeap<Backwards> heap{Backwards{}};
    std::set<std::pair<std::int64_t, std::uint32_t>, BySet> set;
    std::map<std::uint32_t, std::int64_t> times;
    for (int step = 0; step < 2000; ++step) {
      const std::uint32_t item = random() % 40;
      if (random() % 4 == 0) {
        heap.remove(item);
        if (times.contains(item)) set.erase({times[item], item});
        times.erase(item);
      } else {
        const auto time = static_cast<std::int64_t>(random() % 30) - 5;
        if (times.contains(item)) set.erase({times[item], item});
        times[item] = time;
        set.insert({time, item});
        heap.set(item, time);
      }
      ASSERT_EQ(heap.empty(), set.empty());
      if (set.empty()) continue;
      ASSERT_EQ(heap.top_time(), set.begin()->first) << "step " << step;
      ASSERT_EQ(heap.top(), set.begin()->second) << "step " << step;
    }
    while (!set.empty()) {
      ASSERT_EQ(heap.top(), set.begin()->second);
      heap.remove(heap.top());
      set.erase(set.begin());
    }
    EXPECT_TRUE(heap.empty());
  }
}

}  // namespace
}  // namespace clutchward
