#include "base/long_lived.h"

#include <gtest/gtest.h>

#include <cstdint>
#include <cstring>
#include <map>
#include <memory>
#include <random>
#include <vector>

namespace clutchward {
namespace {

// Pieces of every size, taken and given back at random: none overlaps another, all are aligned.
TEST(LongLived, PiecesNeverOverlap) {
  std::mt19937 random(7);
  struct Piece {
    std::size_t bytes;
    unsigned char mark;
  };
  std::map<unsigned char*, Piece> held;
  for (int turn = 0; turn < 20'000; ++turn) {
    if (held.empty() || random() % 3 != 0) {
      const Piece piece{random() % 700 + 1, static_cast<unsigned char>(random())};
      auto* at = static_cast<unsigned char*>(long_lived_take(piece.bytes));
      ASSERT_EQ(reinterpret_cast<std::uintptr_t>(at) % alignof(std::size_t), 0u);
      std::memset(at, piece.mark, piece.bytes);
      ASSERT_TRUE(held.emplace(at, piece).second);
      continue;
    }
    auto victim = held.begin();
    std::advance(victim, random() % held.size());
    for (std::size_t i = 0; i < victim->second.bytes; ++i)
      ASSERT_EQ(victim->first[i], victim->second.mark);
    long_lived_give(victim->first, victim->second.bytes);
    held.erase(victim);
  }
  for (const auto& [at, piece] : held) long_lived_give(at, piece.bytes);
}

struct Thing final : LongLivedObject {
  std::uint64_t words[5] = {};
};

TEST(LongLived, ServesContainersAndObjects) {
  std::vector<std::unique_ptr<Thing>, LongLived<std::unique_ptr<Thing>>> all;
  for (std::uint64_t i = 0; i < 1'000; ++i) {
    all.push_back(std::make_unique<Thing>());
    all.back()->words[4] = i;
  }
  for (std::uint64_t i = 0; i < 1'000; ++i) EXPECT_EQ(all[i]->words[4], i);
}

}  // namespace
}  // namespace clutchward
