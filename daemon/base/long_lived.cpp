// Free lists by size, one set a thread, so that nothing needs a lock.
#include "base/long_lived.h"

#include <array>
#include <new>

#if defined(__has_feature)
#if __has_feature(address_sanitizer)
#define CLUTCHWARD_EACH_BY_NEW 1
#endif
#endif
#if defined(__SANITIZE_ADDRESS__)
#define CLUTCHWARD_EACH_BY_NEW 1
#endif

namespace clutchward {
namespace {

constexpr std::size_t kStep = 8;
constexpr std::size_t kLargest = 512;
// Large enough to be mapped by itself: of the last one only the pages used are resident.
constexpr std::size_t kBlock = 256 * 1024;

struct Free {
  Free* next;
};

class Pieces {
 public:
  void* take(std::size_t size) {
    Free*& list = lists_[size / kStep];
    if (list != nullptr) {
      Free* piece = list;
      list = piece->next;
      return piece;
    }
    if (left_ < size) {
      next_ = static_cast<std::byte*>(::operator new(kBlock));
      left_ = kBlock;
    }
    void* piece = next_;
    next_ += size;
    left_ -= size;
    return piece;
  }

  void give(void* piece, std::size_t size) {
    Free*& list = lists_[size / kStep];
    list = new (piece) Free{list};
  }

 private:
  std::array<Free*, kLargest / kStep + 1> lists_{};
  std::byte* next_ = nullptr;
  std::size_t left_ = 0;
};

// Without a destructor: what other statics hold may be given back after main().
Pieces& pieces() {
  static thread_local Pieces all;
  return all;
}

std::size_t rounded(std::size_t bytes) {
  return bytes < kStep ? kStep : (bytes + kStep - 1) & ~(kStep - 1);
}

#ifdef CLUTCHWARD_EACH_BY_NEW
constexpr bool kEachByNew = true;
#else
constexpr bool kEachByNew = false;
#endif

bool by_new(std::size_t bytes) { return kEachByNew || bytes > kLargest; }

}  // namespace

void* long_lived_take(std::size_t bytes) {
  return by_new(bytes) ? ::operator new(bytes) : pieces().take(rounded(bytes));
}

void long_lived_give(void* piece, std::size_t bytes) noexcept {
  if (piece == nullptr) return;
  if (by_new(bytes))
    ::operator delete(piece);
  else
    pieces().give(piece, rounded(bytes));
}

}  // namespace clutchward
