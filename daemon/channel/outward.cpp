// Workers and the way to and from them. A worker is a thread, a bounded queue and a carrier; the
// only things that cross threads are messages going in and reports coming out.
#include "channel/outward.h"

#include <sys/eventfd.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <condition_variable>
#include <deque>
#include <mutex>
#include <system_error>
#include <thread>

#include "base/check.h"
#include "base/limits.h"
#include "channel/catalogue.h"
#include "channel/transfer.h"

namespace clutchward {

class Outward::Reports {
 public:
  Reports() : fd_(::eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK)) { CHECK(fd_ >= 0); }
  ~Reports() { ::close(fd_); }
  Reports(const Reports&) = delete;
  Reports& operator=(const Reports&) = delete;

  void add(DeliveryReport report) {
    const std::lock_guard lock(mutex_);
    waiting_.push_back(std::move(report));
    const std::uint64_t one = 1;
    // Full is readable all the same.
    [[maybe_unused]] const ssize_t written = ::write(fd_, &one, sizeof one);
  }

  std::vector<DeliveryReport> take() {
    const std::lock_guard lock(mutex_);
    std::uint64_t count = 0;
    [[maybe_unused]] const ssize_t got = ::read(fd_, &count, sizeof count);
    return std::exchange(waiting_, {});
  }

  int fd() const { return fd_; }

 private:
  int fd_;
  std::mutex mutex_;
  std::vector<DeliveryReport> waiting_;
};

class Outward::Worker {
 public:
  Worker(ChannelSettings settings, const CarrierParts& parts, Reports& reports)
      : settings_(std::move(settings)),
        site_(parts.site),
        smtp_(parts.smtp),
        carrier_(make_carrier(settings_, parts)),
        reports_(reports) {
    CHECK(carrier_ != nullptr);  // config/ hands over no channel without a kind
    thread_ = std::jthread([this](const std::stop_token& stop) { run(stop); });
  }

  // True where the worker may go on under this configuration as it is.
  bool serves(const ChannelSettings& settings, const Settings& all) const {
    return settings == settings_ && all.site == site_ && (!settings.email || all.smtp == smtp_);
  }

  // False: the queue is full, and the message was not taken.
  bool take(Notification& message) {
    {
      const std::lock_guard lock(mutex_);
      if (queue_.size() >= limits::kChannelQueue) return false;
      const auto place = std::upper_bound(
          queue_.begin(), queue_.end(), message.urgency,
          [](Urgency urgency, const Notification& waiting) { return urgency > waiting.urgency; });
      queue_.insert(place, std::move(message));
    }
    wake_.notify_one();
    return true;
  }

  // No further try; what waits goes back to the outbox.
  void retire() {
    std::deque<Notification> waiting;
    {
      const std::lock_guard lock(mutex_);
      retiring_ = true;
      waiting.swap(queue_);
    }
    wake_.notify_one();
    for (const Notification& message : waiting)
      reports_.add({message.id, Outcome::try_again, "the configuration changed", std::nullopt});
  }

  void request_stop() { thread_.request_stop(); }
  bool ended() const { return ended_; }

 private:
  void run(const std::stop_token& stop) {
    for (;;) {
      Notification message;
      {
        std::unique_lock lock(mutex_);
        wake_.wait(lock, stop, [this] { return retiring_ || !queue_.empty(); });
        if (stop.stop_requested() || queue_.empty()) break;
        message = std::move(queue_.front());
        queue_.pop_front();
      }
      Carried carried = carrier_->carry(message, stop);
      reports_.add({message.id, carried.outcome, std::move(carried.detail), carried.retry_after});
    }
    ended_ = true;
  }

  ChannelSettings settings_;
  std::string site_;
  SmtpSettings smtp_;
  std::unique_ptr<Carrier> carrier_;
  Reports& reports_;
  std::mutex mutex_;
  std::condition_variable_any wake_;
  std::deque<Notification> queue_;
  bool retiring_ = false;
  std::atomic<bool> ended_ = false;
  std::jthread thread_;  // last: ends before what it uses
};

Outward::Outward(std::function<Wall()> wall_now, TimeLimits limits)
    : wall_now_(std::move(wall_now)), limits_(limits), reports_(std::make_unique<Reports>()) {
  prepare_transfers();
}

Outward::~Outward() { stop(); }

void Outward::configure(const Settings& settings) {
  if (stopped_) return;
  forget_ended();
  const CarrierParts parts{settings.site, settings.smtp, limits_, wall_now_};
  std::map<Place, std::unique_ptr<Worker>> workers;
  for (const auto& [contact, channels] : settings.contacts) {
    for (std::size_t index = 0; index < channels.size(); ++index) {
      if (channels[index].ring) continue;  // rings by the broker: the app's own MQTT client
      const Place place{contact, static_cast<int>(index)};
      const auto known = workers_.find(place);
      if (known != workers_.end() && known->second->serves(channels[index], settings)) {
        workers[place] = std::move(known->second);
        workers_.erase(known);
        continue;
      }
      try {
        workers[place] = std::make_unique<Worker>(channels[index], parts, *reports_);
      } catch (const std::system_error&) {
        workers.erase(place);  // no thread to be had: submit() says so of each message
      }
    }
  }
  for (auto& [place, worker] : workers_) {
    worker->retire();
    ending_.push_back(std::move(worker));
  }
  workers_ = std::move(workers);
}

void Outward::submit(Notification message) {
  if (stopped_) return;
  const auto worker = workers_.find({message.contact, message.channel});
  if (worker == workers_.end()) {
    reports_->add({message.id, Outcome::failed, "no such channel", std::nullopt});
  } else if (!worker->second->take(message)) {
    reports_->add(
        {message.id, Outcome::try_again, "too many messages wait in this channel", std::nullopt});
  }
}

int Outward::ready_fd() const { return reports_->fd(); }

std::vector<DeliveryReport> Outward::take_reports() {
  forget_ended();
  return reports_->take();
}

void Outward::forget_ended() {
  ending_.remove_if([](const auto& worker) { return worker->ended(); });
}

void Outward::stop() {
  stopped_ = true;
  for (const auto& [place, worker] : workers_) worker->request_stop();
  for (const auto& worker : ending_) worker->request_stop();
  workers_.clear();
  ending_.clear();
}

}  // namespace clutchward
