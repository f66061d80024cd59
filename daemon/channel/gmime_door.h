// The way into GMime: its objects as owned values, and one thread at a time inside it.
#pragma once

#include <gmime/gmime.h>

#include <memory>
#include <mutex>

namespace clutchward {

struct Unref {
  void operator()(gpointer object) const { g_object_unref(object); }
};
template <class T>
using Owned = std::unique_ptr<T, Unref>;

// To be held while GMime is used: its own thread safety is not documented, and composing or parsing
// a mail takes milliseconds at most and waits for nothing.
std::unique_lock<std::mutex> enter_gmime();

}  // namespace clutchward
