// Looks passphrases up on a thread of its own: each takes tens of milliseconds and 19 MiB, and the
// loop waits for nothing. One at a time, few in the queue. Decides nothing about who may try.
#pragma once

#include <functional>
#include <memory>
#include <string>

namespace clutchward {

class HashWorker {
 public:
  HashWorker();
  // Questions that still wait are never answered.
  ~HashWorker();
  HashWorker(const HashWorker&) = delete;
  HashWorker& operator=(const HashWorker&) = delete;

  // Whether `secret` fits `hash`, told through `done` in a later turn(). False where the queue is
  // full; then nothing is told.
  bool ask(std::string hash, std::string secret, std::function<void(bool)> done);

  // Readable while an answer waits for turn().
  int descriptor() const;
  void turn();

 private:
  struct Parts;
  std::unique_ptr<Parts> parts_;
};

}  // namespace clutchward
