// Memory for what lives as long as a cabinet or a batch. It comes in exact sizes out of blocks of
// its own: no header a piece, and never among the strings and queues of a burst, whose going would
// leave pages that hold little and cannot be given back.
#pragma once

#include <cstddef>

namespace clutchward {

// `bytes` aligned for pointers and 64-bit numbers; pieces above 512 bytes come from operator new.
// Any thread, but the one that takes a piece gives it back: what is given back serves that thread's
// next piece of the same size and never leaves the program, so that pieces taken here and given
// back there would pile up there. Throws std::bad_alloc. Under the address sanitizer each piece is
// operator new's, so that it sees every misuse.
void* long_lived_take(std::size_t bytes);
void long_lived_give(void* piece, std::size_t bytes) noexcept;  // `bytes` as taken

// For containers.
template <class T>
struct LongLived {
  static_assert(alignof(T) <= alignof(std::size_t));
  using value_type = T;
  LongLived() = default;
  template <class U>
  LongLived(const LongLived<U>&) {}
  T* allocate(std::size_t count) { return static_cast<T*>(long_lived_take(count * sizeof(T))); }
  void deallocate(T* piece, std::size_t count) noexcept {
    long_lived_give(piece, count * sizeof(T));
  }
  bool operator==(const LongLived&) const = default;
};

// For types made by std::make_unique: derive from it. The type is to be final.
struct LongLivedObject {
  static void* operator new(std::size_t bytes) { return long_lived_take(bytes); }
  static void operator delete(void* piece, std::size_t bytes) noexcept {
    long_lived_give(piece, bytes);
  }
};

}  // namespace clutchward
