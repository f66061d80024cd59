// Means over a window, for rules with the key average. A window is cut into pieces of equal length;
// each piece counts once however many readings fell into it, and pieces without any are left out.
#include <algorithm>
#include <cmath>
#include <cstdlib>

#include "engine/world.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

// At most so many pieces a window, so that half a day costs no more than an hour.
constexpr int kPieces = 60;
// A piece that was heard stands for this long at least: as long as a probe stays fresh by default.
constexpr Span kCovers = 5min;

}  // namespace

Span piece_of(const Mean& mean) { return std::max<Span>(1min, mean.window / kPieces); }

void renew_mean(Mean& mean, Steady now) {
  const std::int64_t pieces = std::max<std::int64_t>(1, mean.window / piece_of(mean));
  const std::int64_t last = now.time_since_epoch() / piece_of(mean);
  while (!mean.pieces.empty() && mean.pieces.front().number <= last - pieces)
    mean.pieces.pop_front();
  mean.now.reset();
  const auto heard = static_cast<std::int64_t>(mean.pieces.size());
  if (heard == 0) return;
  const Span reach = piece_of(mean) * (mean.pieces.back().number - mean.pieces.front().number + 1);
  const Span covered = std::max<Span>(piece_of(mean), kCovers) * heard;
  if (std::min(reach, covered) * 2 < mean.window) return;
  double sum = 0;
  for (const Mean::Piece& piece : mean.pieces)
    sum += static_cast<double>(piece.sum) / static_cast<double>(piece.count);
  // Half away from zero, once (alarm-semantics, section 2).
  mean.now = static_cast<Milli>(std::llround(sum / static_cast<double>(heard)));
}

void want_mean(CabinetWatch& cabinet, const Rule& rule) {
  if (!cabinet.seldom().means) cabinet.make_seldom().means = std::make_unique<std::vector<Mean>>();
  const bool below = rule.kind == RuleKind::below;
  for (const Mean& mean : *cabinet.seldom().means)
    if (mean.quantity == rule.quantity && mean.below == below && mean.window == rule.average)
      return;
  Mean mean;
  mean.quantity = rule.quantity;
  mean.below = below;
  mean.window = rule.average;
  cabinet.seldom().means->push_back(std::move(mean));
}

void follow_means(const World& world, CabinetWatch& cabinet, Quantity quantity) {
  const Seen* seen = seen_of(cabinet, quantity);
  if (seen == nullptr || !seen->known) return;
  for (Mean& mean : *cabinet.seldom().means) {
    if (mean.quantity != quantity) continue;
    const std::int64_t number = world.present.steady.time_since_epoch() / piece_of(mean);
    if (mean.pieces.empty() || mean.pieces.back().number < number)
      mean.pieces.push_back({number, 0, 0});
    mean.pieces.back().sum += mean.below ? seen->fresh.below : seen->fresh.above;
    ++mean.pieces.back().count;
    renew_mean(mean, world.present.steady);
  }
}

std::optional<Milli> mean_of(const CabinetWatch& cabinet, const Rule& rule) {
  if (!cabinet.seldom().means) return std::nullopt;
  for (const Mean& mean : *cabinet.seldom().means)
    if (mean.quantity == rule.quantity && mean.below == (rule.kind == RuleKind::below) &&
        mean.window == rule.average)
      return mean.now;
  return std::nullopt;
}

}  // namespace clutchward
