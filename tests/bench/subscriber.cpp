// The floors of what passes through a broker: the least that a Paho C++ subscriber can do, in the
// library's handler.
//   subscriber count   URL             counts; answers the last message of a flood on …/events
//   subscriber append  URL FILE        appends a record for each, synced in groups, then …/events
//   subscriber webhook URL FILE HOOK   the same, and then posts it
// Runs until it is terminated. It knows no cabinet and no rule.
#include <curl/curl.h>
#include <fcntl.h>
#include <mqtt/async_client.h>

#include <atomic>
#include <condition_variable>
#include <csignal>
#include <mutex>
#include <string>
#include <utility>

#include "bench.h"

namespace {

// At QoS 0: past the broker's receive maximum (20 in Mosquitto) the library sends nothing more
// until a second has passed, which is no floor.
const char* const kEvents = "clutchward/bench/events";

std::string cabinet_of(const std::string& topic) {
  const std::size_t from = topic.find('/') + 1;
  return topic.substr(from, topic.find('/', from) - from);
}

std::string event_of(const std::string& cabinet) {
  return "{\"cabinet\":\"" + cabinet + "\",\"event\":\"raised\"}";
}

// What has come and is not written yet; one thread writes it all, however much it is.
class Keeper {
 public:
  Keeper(mqtt::async_client& client, const char* file, const char* hook)
      : client_(client), file_(::open(file, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600)) {
    if (file_ < 0) bench::die(file);
    if (hook == nullptr) return;
    curl_ = curl_easy_init();
    headers_ = curl_slist_append(nullptr, "Content-Type: application/json");
    curl_easy_setopt(curl_, CURLOPT_URL, hook);
    curl_easy_setopt(curl_, CURLOPT_HTTPHEADER, headers_);
  }

  void push(std::string cabinet) {
    {
      const std::lock_guard lock(mutex_);
      waiting_.push_back(std::move(cabinet));
    }
    wake_.notify_one();
  }

  [[noreturn]] void run() {
    for (;;) {
      std::unique_lock lock(mutex_);
      wake_.wait(lock, [this] { return !waiting_.empty(); });
      const std::vector<std::string> taken = std::exchange(waiting_, {});
      lock.unlock();
      std::string bytes;
      for (const std::string& cabinet : taken) bytes += event_of(cabinet) + '\n';
      if (::write(file_, bytes.data(), bytes.size()) < 0 || ::fdatasync(file_) != 0)
        bench::die("append");
      for (const std::string& cabinet : taken) tell(event_of(cabinet));
    }
  }

 private:
  void tell(const std::string& event) {
    if (curl_ == nullptr) {
      client_.publish(kEvents, event, 0, false);
      return;
    }
    curl_easy_setopt(curl_, CURLOPT_POSTFIELDSIZE, static_cast<long>(event.size()));
    curl_easy_setopt(curl_, CURLOPT_POSTFIELDS, event.data());
    curl_easy_perform(curl_);
  }

  mqtt::async_client& client_;
  int file_;
  CURL* curl_ = nullptr;
  curl_slist* headers_ = nullptr;
  std::mutex mutex_;
  std::condition_variable wake_;
  std::vector<std::string> waiting_;
};

}  // namespace

int main(int argc, char** argv) {
  if (argc < 3) return 64;
  const bool counts = std::string(argv[1]) == "count";
  mqtt::async_client client(argv[2], "bench-floor", mqtt::create_options(5, 10'000));
  std::unique_ptr<Keeper> keeper;
  if (!counts) keeper = std::make_unique<Keeper>(client, argv[3], argc > 4 ? argv[4] : nullptr);
  std::atomic<std::uint64_t> count{0};
  client.set_message_callback([&](const mqtt::const_message_ptr& message) {
    count.fetch_add(1, std::memory_order_relaxed);
    if (keeper)
      keeper->push(cabinet_of(message->get_topic()));
    else if (message->get_topic().compare(0, 11, "farm/answer") == 0)
      client.publish(kEvents, event_of(cabinet_of(message->get_topic())), 0, false);
  });
  mqtt::connect_options options;
  options.set_mqtt_version(5);
  options.set_clean_start(true);
  client.connect(options)->wait();
  client.subscribe("farm/#", 1)->wait();
  client.subscribe("meters/#", 1)->wait();
  client.publish("clutchward/bench/status", std::string("online"), 1, true)->wait();
  if (keeper) keeper->run();
  for (;;) ::pause();
}
