// Weighings to losses. All sums are over means of one egg, so that a clutch and a tray read alike.
#include "incubation/mass_loss.h"

#include <cmath>

#include "incubation/figure.h"

namespace clutchward {
namespace {

constexpr double kSameDay = 2.0 / 24;  // candling a large clutch takes an hour or two
constexpr double kFirstDay = 1.0;  // a loss of half a per cent: the set mass is as good as weighed
constexpr double kPascalPerTorr = 133.3224;
constexpr double kLargestEggG = 5000;  // an ostrich egg is a third of it
constexpr double kSmallestEggG = 0.1;

double mean_g(const EggWeighing& weighing) { return weighing.mass_g / weighing.eggs; }

bool same_day(const EggWeighing& a, const EggWeighing& b) { return b.day - a.day <= kSameDay; }

std::optional<Refusal> wanted_fault(const WantedLoss& wanted) {
  if (auto bad = out_of_range("wanted loss", wanted.percent, 1, 40, "%")) return bad;
  return out_of_range("day of lockdown", wanted.by_day, 1, kLongestIncubationDays, "days");
}

// A point of the loss curve: the share of the first weighing's mass an egg still has.
struct Kept {
  double day;
  double share;
};

struct Curve {
  std::vector<Kept> points;  // at least one; days rising
  bool by_mean = false;
};

Curve curve_of(const std::vector<EggWeighing>& weighings) {
  Curve curve;
  double share = 1;
  curve.points.push_back({weighings.front().day, share});
  for (std::size_t i = 1; i < weighings.size(); ++i) {
    const EggWeighing& last = weighings[i - 1];
    const EggWeighing& now = weighings[i];
    const bool other_eggs = now.eggs != last.eggs;
    if (other_eggs && same_day(last, now)) continue;  // a new base, no loss
    curve.by_mean = curve.by_mean || other_eggs;
    share *= mean_g(now) / mean_g(last);
    curve.points.push_back({now.day, share});
  }
  return curve;
}

// Share lost per day up to the last point: back to the nearest point at least three days before,
// else over all there is.
std::optional<double> daily_share(const Curve& curve) {
  const Kept& now = curve.points.back();
  for (auto then = curve.points.rbegin(); then != curve.points.rend(); ++then)
    if (now.day - then->day >= kShortestRateDays || then + 1 == curve.points.rend()) {
      if (now.day - then->day <= kSameDay) return std::nullopt;
      return (then->share - now.share) / (now.day - then->day);
    }
  return std::nullopt;
}

}  // namespace

namespace {

// A tenth of a day is as near as people say it.
std::string day_figure(double day) { return figure(std::round(day * 10) / 10); }

}  // namespace

std::optional<Refusal> weighing_fault(const std::vector<EggWeighing>& before,
                                      const EggWeighing& added) {
  if (added.eggs < 1)
    return Refusal{"eggs weighed: " + std::to_string(added.eggs) + " found, 1 or more expected"};
  if (auto bad = out_of_range("day of weighing", added.day, 0, kLongestIncubationDays, "days"))
    return bad;
  if (auto bad = out_of_range("mass", added.mass_g, kSmallestEggG * added.eggs,
                              kLargestEggG * added.eggs, "g"))
    return bad;
  if (before.empty()) return std::nullopt;
  const EggWeighing& last = before.back();
  if (added.day < last.day)
    return Refusal{"day of weighing: " + day_figure(added.day) +
                   " found, not before the last weighing on day " + day_figure(last.day) +
                   " expected"};
  const bool new_base = added.eggs != last.eggs && same_day(last, added);
  const std::string figures = figure(mean_g(added), 2) + " g an egg found, " +
                              figure(mean_g(last), 2) + " g on day " + day_figure(last.day);
  if (!new_base && mean_g(added) > mean_g(last))
    return Refusal{"heavier than the last weighing: " + figures +
                   ": eggs gain no mass; check scale, container and count"};
  if (mean_g(added) < mean_g(last) / 2)
    return Refusal{"less than half of the last weighing: " + figures +
                   ": check the decimal point and the count"};
  return std::nullopt;
}

Result<MassLoss> mass_loss(const std::vector<EggWeighing>& weighings, const WantedLoss& wanted) {
  if (auto bad = wanted_fault(wanted)) return *bad;
  if (weighings.empty()) return Refusal{"no weighing yet: one on the day of setting is expected"};
  std::vector<EggWeighing> checked;
  for (const EggWeighing& weighing : weighings) {
    if (auto bad = weighing_fault(checked, weighing))
      return Refusal{"weighing " + std::to_string(checked.size() + 1) + ": " + bad->why};
    checked.push_back(weighing);
  }

  const Curve curve = curve_of(checked);
  const Kept& first = curve.points.front();
  const Kept& now = curve.points.back();
  MassLoss loss;
  loss.day = checked.back().day;
  loss.compared_by_mean = curve.by_mean;
  double set_share = 1;
  if (first.day > kFirstDay) {
    if (now.day - first.day < kShortestRateDays)
      return Refusal{"first weighing on day " + figure(first.day) +
                     ": a second one, three days later or more, is expected before the loss since "
                     "setting can be told"};
    set_share = 1 + (first.share - now.share) / (now.day - first.day) * first.day;
    loss.set_mass_estimated = true;
  }
  loss.set_mass_g = mean_g(checked.front()) * set_share;
  loss.lost_percent = 100 * (1 - now.share / set_share);
  loss.line_percent = wanted.percent * loss.day / wanted.by_day;
  if (const auto daily = daily_share(curve)) loss.daily_percent = 100 * *daily / set_share;
  const double left = wanted.by_day - loss.day;
  if (left > 0) {
    loss.needed_daily_percent = (wanted.percent - loss.lost_percent) / left;
    if (loss.daily_percent) loss.projected_percent = loss.lost_percent + *loss.daily_percent * left;
  }
  return loss;
}

Result<double> line_mass_g(double set_mass_g, const WantedLoss& wanted, double day) {
  if (auto bad = wanted_fault(wanted)) return *bad;
  if (auto bad = out_of_range("set mass", set_mass_g, kSmallestEggG, kLargestEggG, "g"))
    return *bad;
  if (auto bad = out_of_range("day", day, 0, kLongestIncubationDays, "days")) return *bad;
  return set_mass_g * (1 - wanted.percent / 100 * day / wanted.by_day);
}

Result<double> projected_loss_percent(double first_g, double now_g, double days,
                                      double incubation_days) {
  if (auto bad = out_of_range("first mass", first_g, kSmallestEggG, 1e7, "g")) return *bad;
  if (auto bad = out_of_range("mass now", now_g, 0, first_g, "g")) return *bad;
  if (auto bad = out_of_range("days between", days, kSameDay, kLongestIncubationDays, "days"))
    return *bad;
  if (auto bad = out_of_range("incubation", incubation_days, 1, kLongestIncubationDays, "days"))
    return *bad;
  return (first_g - now_g) / days * incubation_days / first_g * 100;
}

Result<double> loss_at_humidity_percent(double loss_percent, double humidity_percent,
                                        double other_humidity_percent) {
  if (auto bad = out_of_range("loss", loss_percent, 0, 100, "%")) return *bad;
  // 99: the rule divides by the deficit, and no sensor tells 99 from 100 %.
  if (auto bad = out_of_range("relative humidity", humidity_percent, 0, 99, "%")) return *bad;
  if (auto bad = out_of_range("other relative humidity", other_humidity_percent, 0, 100, "%"))
    return *bad;
  return loss_percent * (100 - other_humidity_percent) / (100 - humidity_percent);
}

Result<double> humidity_for_loss_percent(double humidity_percent, double observed_daily,
                                         double wanted_daily) {
  if (auto bad = out_of_range("relative humidity", humidity_percent, 0, 99, "%")) return *bad;
  if (!std::isfinite(observed_daily) || observed_daily <= 0)
    return Refusal{"observed daily loss: " + figure(observed_daily) +
                   " found, more than 0 expected"};
  if (!std::isfinite(wanted_daily))
    return Refusal{"wanted daily loss: " + figure(wanted_daily) + " found, a figure expected"};
  if (wanted_daily < 0)
    return Refusal{"the eggs have lost more than is wanted at lockdown; no humidity gives it back"};
  const double wanted = 100 - (100 - humidity_percent) * wanted_daily / observed_daily;
  if (wanted < 0)
    return Refusal{"even perfectly dry air would take too little: " +
                   figure(100 * observed_daily / (100 - humidity_percent), 2) +
                   " a day at most, where " + figure(wanted_daily, 2) + " is wanted"};
  return wanted;
}

Result<double> conductance_loss_percent(double mg_per_100_g_day_torr, double deficit_hpa,
                                        double days) {
  if (auto bad = out_of_range("conductance", mg_per_100_g_day_torr, 0, 200, "mg/(100 g d torr)"))
    return *bad;
  if (auto bad = out_of_range("vapour pressure deficit", deficit_hpa, 0, 200, "hPa")) return *bad;
  if (auto bad = out_of_range("days", days, 0, kLongestIncubationDays, "days")) return *bad;
  const double deficit_torr = deficit_hpa * 100 / kPascalPerTorr;
  return mg_per_100_g_day_torr * deficit_torr * days /
         1000;  // mg per 100 g is 1/1000 of a per cent
}

}  // namespace clutchward
