// One thread, started with the first question, and an eventfd.
#include "web/hash_worker.h"

#include <sys/eventfd.h>
#include <unistd.h>

#include <condition_variable>
#include <deque>
#include <mutex>
#include <thread>
#include <utility>
#include <vector>

#include "access/passphrase.h"
#include "base/check.h"
#include "base/limits.h"

namespace clutchward {
namespace {

struct Question {
  std::string hash;
  std::string secret;
  std::function<void(bool)> done;
  bool fits = false;
};

}  // namespace

struct HashWorker::Parts {
  int event = -1;
  std::mutex mutex;
  std::condition_variable_any more;
  std::deque<Question> asked;
  std::vector<Question> answered;
  std::jthread thread;

  void work(const std::stop_token& stop) {
    std::unique_lock lock(mutex);
    while (more.wait(lock, stop, [&] { return !asked.empty(); })) {
      // Stays at the front meanwhile: what is being looked at counts as waiting.
      Question question = asked.front();
      lock.unlock();
      question.fits = passphrase_fits(question.hash, question.secret);
      question.secret.clear();
      lock.lock();
      asked.pop_front();
      answered.push_back(std::move(question));
      const std::uint64_t one = 1;
      [[maybe_unused]] const ssize_t written = ::write(event, &one, sizeof one);
    }
  }
};

HashWorker::HashWorker() : parts_(std::make_unique<Parts>()) {
  parts_->event = ::eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK);
  CHECK(parts_->event >= 0);
}

HashWorker::~HashWorker() {
  if (parts_->thread.joinable()) {
    parts_->thread.request_stop();
    parts_->thread.join();
  }
  ::close(parts_->event);
}

bool HashWorker::ask(std::string hash, std::string secret, std::function<void(bool)> done) {
  const std::lock_guard lock(parts_->mutex);
  if (parts_->asked.size() >= limits::kWaitingHashes) return false;
  parts_->asked.push_back({std::move(hash), std::move(secret), std::move(done)});
  if (!parts_->thread.joinable())
    parts_->thread =
        std::jthread([parts = parts_.get()](const std::stop_token& stop) { parts->work(stop); });
  parts_->more.notify_one();
  return true;
}

int HashWorker::descriptor() const { return parts_->event; }

void HashWorker::turn() {
  std::uint64_t count = 0;
  [[maybe_unused]] const ssize_t got = ::read(parts_->event, &count, sizeof count);
  std::vector<Question> answered;
  {
    const std::lock_guard lock(parts_->mutex);
    answered.swap(parts_->answered);
  }
  for (const Question& each : answered) each.done(each.fits);
}

}  // namespace clutchward
