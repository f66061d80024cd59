// What a curve costs: 30 days of one cabinet out of a history of many, as the page asks for a
// batch's whole life, and the same read minute by minute, as a report does. Each probe has a minute
// a minute, packed ten by ten as the daemon commits them. Prints one JSON object of milliseconds,
// the median of seven looks.
//
//   bench_curve_look FOLDER [CABINETS]
#include "app/curve_look.h"

#include <algorithm>
#include <chrono>
#include <cstdlib>
#include <filesystem>
#include <iostream>
#include <string>

namespace {

using namespace clutchward;
using namespace std::chrono_literals;

constexpr Wall kStart{1772352000000ms};  // 2026-03-01T08:00:00Z
constexpr std::int64_t kMinute = 1772352000000 / 60000;
constexpr std::int64_t kMinutes = 30 * 1440;

void fill(HistoryFile& file, int cabinets) {
  for (std::int64_t from = 0; from < kMinutes; from += 10) {
    HistoryRows rows;
    for (int cabinet = 0; cabinet < cabinets; ++cabinet)
      for (const char* probe : {"top", "middle", "low", "damp"})
        for (std::int64_t minute = from; minute < from + 10; ++minute) {
          const bool damp = *probe == 'd';
          const auto value = static_cast<Milli>((damp ? 55'000 : 37'500) + minute * 7 % 200);
          rows.minutes.push_back({kMinute + minute, "setter-" + std::to_string(cabinet), probe,
                                  damp ? "humidity" : "temperature", value - 20, value, value + 20,
                                  2});
        }
    if (const auto why = file.write(rows)) {
      std::cerr << why->why << '\n';
      std::exit(1);
    }
  }
}

template <class Look>
double median_ms(const Look& look) {
  std::vector<double> took;
  for (int i = 0; i < 7; ++i) {
    const auto begin = std::chrono::steady_clock::now();
    look();
    took.push_back(
        std::chrono::duration<double, std::milli>(std::chrono::steady_clock::now() - begin)
            .count());
  }
  std::sort(took.begin(), took.end());
  return took[took.size() / 2];
}

}  // namespace

int main(int argc, char** argv) {
  const std::string path = std::string(argc > 1 ? argv[1] : ".") + "/curve_look.db";
  std::filesystem::remove(path);
  HistoryFile file;
  if (const auto why = file.open(path, HistoryFile::For::writing)) {
    std::cerr << why->why << '\n';
    return 1;
  }
  fill(file, argc > 2 ? std::atoi(argv[2]) : 20);
  CurveWanted wanted;
  wanted.stays = {{"setter-7", kStart, kStart + std::chrono::minutes(kMinutes), {}}};
  wanted.step = 120min;
  std::size_t steps = 0;
  const double curve =
      median_ms([&] { steps = look_at_curve(&file, "", {}, wanted).temperature.size(); });
  HistoryQuestion question;
  question.cabinet = "setter-7";
  std::size_t rows = 0;
  const double all = median_ms([&] {
    rows = 0;
    file.minutes(question, [&](const HistoryMinute&) { return ++rows > 0; });
  });
  std::cout << "{\"curve_30_days_ms\":" << curve << ",\"steps\":" << steps
            << ",\"minutes_30_days_ms\":" << all << ",\"rows\":" << rows << "}\n";
  file.close();
  std::filesystem::remove(path);
}
