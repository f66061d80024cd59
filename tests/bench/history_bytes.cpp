// How many bytes one day's history writes: 20 cabinets with 3 probes (and humidity), a value a
// minute each, committed every N minutes, the same number of minutes of an older day forgotten.
// Counted by the kernel (/proc/self/io: write_bytes).
//
//   bench_history_bytes FOLDER   ->  {"commit_minutes":10,"mb_a_day":...}
#include <stdio.h>
#include <unistd.h>

#include <cstdint>
#include <fstream>
#include <random>
#include <string>

#include "store/history_file.h"

namespace {

using clutchward::HistoryFile;
using clutchward::HistoryRows;

std::uint64_t written() {
  std::ifstream io("/proc/self/io");
  std::string key;
  std::uint64_t value = 0;
  while (io >> key >> value)
    if (key == "write_bytes:") return value;
  return 0;
}

void add_minute(HistoryRows& rows, std::int64_t minute, std::mt19937& random) {
  for (int cabinet = 0; cabinet < 20; ++cabinet)
    for (int probe = 0; probe < 4; ++probe) {
      const bool humidity = probe == 3;
      const int mean = (humidity ? 55'000 : 37'500) + static_cast<int>(random() % 200);
      rows.minutes.push_back(
          {minute, "setter-" + std::to_string(cabinet), "probe-" + std::to_string(probe),
           humidity ? "humidity" : "temperature", mean - 40, mean, mean + 40, 6});
    }
}

// Days of minutes, the first kept whole; the last one is counted, with a day forgotten in it.
int day(const std::string& path, int commit_minutes) {
  std::mt19937 random(1);
  HistoryFile file;
  std::uint64_t before = 0;
  HistoryRows rows;
  if (file.open(path, HistoryFile::For::writing)) return 1;
  for (std::int64_t minute = 0; minute < 3 * 1440; ++minute) {
    if (minute == 2 * 1440) {
      before = written();
      if (file.forget_before(clutchward::Wall(std::chrono::minutes(1440)))) return 1;
    }
    add_minute(rows, minute, random);
    if ((minute + 1) % commit_minutes != 0) continue;
    if (file.write(rows)) return 1;
    rows = {};
  }
  const double mb = static_cast<double>(written() - before) / 1e6;
  std::ifstream size(path, std::ios::ate | std::ios::binary);
  printf("{\"commit_minutes\":%d,\"series\":80,\"mb_a_day\":%.1f,\"file_mb_a_day\":%.2f}\n",
         commit_minutes, mb, static_cast<double>(size.tellg()) / 2e6);
  fflush(stdout);
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 2) return 64;
  for (const int minutes : {10, 15, 5, 1}) {
    const std::string path = std::string(argv[1]) + "/bytes-" + std::to_string(minutes) + ".db";
    if (day(path, minutes) != 0) return 74;
    unlink(path.c_str());
    unlink((path + "-journal").c_str());
  }
  return 0;
}
