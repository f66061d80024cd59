// One thread, started with the first question, and an eventfd. The file is opened for the questions
// that wait and closed after them: between two looks nothing of it is held.
#include "store/history_reader.h"

#include <sys/eventfd.h>
#include <unistd.h>

#include <condition_variable>
#include <deque>
#include <mutex>
#include <thread>
#include <utility>
#include <vector>

#include "base/check.h"
#include "base/limits.h"

namespace clutchward {
namespace {

struct Question {
  HistoryReader::Look look;
  std::function<void()> done;
};

}  // namespace

struct HistoryReader::Parts {
  std::string path;
  int event = -1;
  std::mutex mutex;
  std::condition_variable_any more;
  std::deque<Question> asked;
  std::vector<std::function<void()>> answered;
  std::jthread thread;

  void answer(const Question& question, HistoryFile& file) const {
    std::string why;
    if (!file.is_open() && ::access(path.c_str(), F_OK) == 0)
      if (const auto trouble = file.open(path, HistoryFile::For::reading)) why = trouble->why;
    try {
      question.look(file.is_open() ? &file : nullptr, why);
    } catch (const std::exception& fault) {
      // What stands there is not what was written: the one who asked is told, the watch goes on.
      question.look(nullptr, "what it holds cannot be understood: " + std::string(fault.what()));
    }
  }

  void work(const std::stop_token& stop) {
    HistoryFile file;
    std::unique_lock lock(mutex);
    while (more.wait(lock, stop, [&] { return !asked.empty(); })) {
      if (stop.stop_requested()) return;
      // Stays at the front meanwhile: what is being looked at counts as waiting.
      const Look look = asked.front().look;
      lock.unlock();
      answer({look, {}}, file);
      lock.lock();
      answered.push_back(std::move(asked.front().done));
      asked.pop_front();
      if (asked.empty()) file.close();
      const std::uint64_t one = 1;
      [[maybe_unused]] const ssize_t written = ::write(event, &one, sizeof one);
    }
  }
};

HistoryReader::HistoryReader(std::string path) : parts_(std::make_unique<Parts>()) {
  parts_->path = std::move(path);
  parts_->event = ::eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK);
  CHECK(parts_->event >= 0);
}

HistoryReader::~HistoryReader() {
  if (parts_->thread.joinable()) {
    parts_->thread.request_stop();
    parts_->thread.join();
  }
  ::close(parts_->event);
}

bool HistoryReader::ask(Look look, std::function<void()> done) {
  const std::lock_guard lock(parts_->mutex);
  if (parts_->asked.size() >= limits::kHistoryQuestions) return false;
  parts_->asked.push_back({std::move(look), std::move(done)});
  if (!parts_->thread.joinable())
    parts_->thread =
        std::jthread([parts = parts_.get()](const std::stop_token& stop) { parts->work(stop); });
  parts_->more.notify_one();
  return true;
}

int HistoryReader::descriptor() const { return parts_->event; }

void HistoryReader::turn() {
  std::uint64_t count = 0;
  [[maybe_unused]] const ssize_t got = ::read(parts_->event, &count, sizeof count);
  std::vector<std::function<void()>> answered;
  {
    const std::lock_guard lock(parts_->mutex);
    answered.swap(parts_->answered);
  }
  for (const auto& done : answered) done();
}

}  // namespace clutchward
