// What a normal day writes to the card: 20 cabinets with 3 probes and a hygrometer each, a reading
// of each every 30 s, an hourly turn, a goose's batch in each with its daily airing, and a day of
// the past forgotten. The whole engine runs through three simulated days; the last one is counted.
// The history (minutes, events, records every 4 h, one commit every 10 min) is written by the main
// thread as the daemon's thread would, the durable state by its own; the kernel counts both
// (/proc: write_bytes, whole pages of the file system).
//
//   bench_history_bytes FOLDER [COMMIT_MINUTES]
#include <stdio.h>
#include <stdlib.h>

#include <chrono>
#include <filesystem>
#include <fstream>
#include <random>
#include <string>
#include <thread>

#include "app/history_keeper.h"
#include "base/time.h"
#include "store/real_files.h"
#include "store/store.h"

namespace {

using namespace clutchward;
using namespace std::chrono_literals;

constexpr Wall kStart{1772352000000ms};  // 2026-03-01T08:00:00Z
constexpr int kCabinets = 20;

std::uint64_t written(const char* whose) {
  std::ifstream io(whose);
  std::string key;
  std::uint64_t value = 0;
  while (io >> key >> value)
    if (key == "write_bytes:") return value;
  return 0;
}

TopicPattern pattern(const std::string& level, Quantity quantity) {
  TopicPattern made;
  made.topic = "farm/{cabinet}/" + level;
  made.quantity = quantity;
  return made;
}

Settings farm() {
  Settings made;
  made.site = "Saltmere";
  made.broker.base = "clutchward/saltmere";
  made.patterns = {pattern("{probe}/temperature", Quantity::temperature),
                   pattern("{probe}/humidity", Quantity::humidity),
                   pattern("turned", Quantity::turn)};
  Profile goose;
  goose.id = "goose";
  goose.name = "Domestic goose";
  goose.days = 30;
  goose.hatch = DayWindow{28, 34};
  Stage stage;
  stage.name = "airing";
  stage.target = 37'300;
  stage.turn_every = 60min;
  stage.humidity = HumidityBand{55'000, 63'000};
  stage.cooling = {{10h, 20min, std::nullopt}};
  goose.stages = {stage};
  made.profiles["goose"] = goose;
  for (int i = 0; i < kCabinets; ++i) {
    BatchSettings batch;
    batch.id = "geese-" + std::to_string(i);
    batch.profile = "goose";
    batch.cabinet = "setter-" + std::to_string(i);
    batch.set_at = kStart - 15 * 24h;
    batch.eggs = 14;
    made.batches.push_back(std::move(batch));
  }
  return made;
}

class Days {
 public:
  Days(const std::string& folder, int commit_minutes)
      : folder_(folder), commit_(std::chrono::minutes(commit_minutes)), settings_(farm()) {
    StoreOptions options;
    options.folder = folder + "/state";
    auto opened = Store::open(disk_, options);
    if (!opened || file_.open(folder + "/history.db", HistoryFile::For::writing)) {
      fprintf(stderr, "%s cannot be used\n", folder.c_str());
      exit(74);
    }
    store_ = std::move(opened->store);
    engine_ = std::make_unique<Engine>(settings_, Zone(), at(0s), true);
    engine_->keep_minutes(true);
    engine_->begin();
  }

  // Up to the end of that day; answers with what the history and the state wrote in it.
  std::pair<double, double> day(int number) {
    const std::uint64_t history = written("/proc/thread-self/io");
    const std::uint64_t all = written("/proc/self/io");
    if (number > 0 && file_.forget_before(at(now_ - 24h).wall)) exit(74);
    for (const Span end = number * 24h + 24h; now_ < end; now_ += 30s) step();
    while (store_->saved() < turn_) std::this_thread::sleep_for(1ms);
    const std::uint64_t by_history = written("/proc/thread-self/io") - history;
    const std::uint64_t by_all = written("/proc/self/io") - all;
    return {static_cast<double>(by_history) / 1e6, static_cast<double>(by_all - by_history) / 1e6};
  }
  std::size_t events() const { return events_; }
  double file_mb() {
    file_.close();  // brings the log in
    return static_cast<double>(std::filesystem::file_size(folder_ + "/history.db")) / 1e6;
  }

 private:
  Moment at(Span after) const { return {Steady{500'000ms} + after, kStart + after, true}; }

  void step() {
    const Span of_day = (now_ + 8h) % 24h;
    const bool open = of_day >= 10h && of_day < 10h + 20min;
    for (int i = 0; i < kCabinets; ++i) {
      const std::string cabinet = "farm/setter-" + std::to_string(i) + "/";
      for (const char* probe : {"top", "middle", "low"})
        says(cabinet + probe + "/temperature",
             (open ? 34'000 : 37'250) + static_cast<int>(random_() % 100));
      says(cabinet + "top/humidity", 59'000 + static_cast<int>(random_() % 1000));
      // The turners of a house are not switched on together.
      if ((now_ + i * 3min) % 60min == 0s)
        engine_->message(cabinet + "turned", "1", false, at(now_));
      keep();
    }
    engine_->settle(at(now_));
    keep();
    if (now_ % 1min == 0s) take_history(*engine_, false, rows_);
    if (now_ % 4h == 0s) take_records(*engine_, settings_, engine_->take_changed_records(), rows_);
    if (now_ % commit_ != 0s) return;
    if (file_.write(rows_)) exit(74);
    rows_ = {};
  }
  void says(const std::string& topic, int milli) {
    engine_->message(topic, milli_exact(milli), false, at(now_));
  }
  // As a turn of the daemon does; the state's thread is waited for, as if the seconds passed.
  void keep() {
    for (const AlarmEvent& event : engine_->take_events()) {
      note_event(*engine_, event, rows_);
      ++events_;
    }
    auto changes = engine_->take_changes();
    if (changes.empty()) return;
    store_->submit(++turn_, at(now_).wall, std::move(changes));
    while (store_->saved() < turn_) std::this_thread::sleep_for(50us);
  }

  std::string folder_;
  Span commit_;
  Settings settings_;
  RealFiles disk_;
  HistoryFile file_;
  std::unique_ptr<Store> store_;
  std::unique_ptr<Engine> engine_;
  HistoryRows rows_;
  std::mt19937 random_{1};
  Span now_{0};
  std::uint64_t turn_ = 0;
  std::size_t events_ = 0;
};

}  // namespace

int main(int argc, char** argv) {
  if (argc < 2 || argc > 3) return 64;
  const int commit_minutes = argc == 3 ? std::max(1, atoi(argv[2])) : 10;
  std::string folder = std::string(argv[1]) + "/bytes-XXXXXX";
  if (mkdtemp(folder.data()) == nullptr) return 74;
  {
    Days days(folder, commit_minutes);
    std::pair<double, double> mb;
    for (int day = 0; day < 3; ++day) mb = days.day(day);
    printf(
        "{\"commit_minutes\":%d,\"series\":%d,\"history_mb_a_day\":%.1f,\"state_mb_a_day\":%.1f,"
        "\"events\":%zu,\"file_mb\":%.2f}\n",
        commit_minutes, 4 * kCabinets, mb.first, mb.second, days.events(), days.file_mb());
  }
  std::filesystem::remove_all(folder);
  return 0;
}
