// The days are the site's own; a date late in the evening is asked for in the morning of its day.
#include "app/task_round.h"

#include <algorithm>

#include "base/text.h"

namespace clutchward {
namespace {

using std::chrono::hours;

// A made-up round comes no later after its hour than this.
constexpr Span kStillCivil = hours{12};
// What a person does may still be asked for so long after its date (as the page's "next" has it),
// what merely comes for a day.
constexpr Span kDeedAskedFor = hours{72};
constexpr Span kComingAskedFor = hours{24};

std::chrono::local_days day_of(Wall time, const Zone& zone) {
  return std::chrono::floor<std::chrono::days>(zone.to_local(time));
}

bool is_past(const BatchDate& date, Wall now) {
  switch (date.kind) {
    case TaskKind::end_batch:
      return false;
    case TaskKind::candle:
    case TaskKind::weigh:
    case TaskKind::transfer:
      return date.to + kDeedAskedFor <= now;
    default:
      return date.to + kComingAskedFor <= now;
  }
}

std::string key_of(const std::string& batch, const BatchDate& date) {
  return batch + "/" + std::string(name_of(date.kind)) + "/" + std::to_string(date.number);
}

}  // namespace

bool TaskRound::due(const Moment& now, Span at, const Zone& zone) {
  if (!now.wall_trusted) return false;                // a calendar waits for a clock it can trust
  if (!last_ || now.wall < *last_) last_ = now.wall;  // stepped back: not silent until then
  const Wall next = zone.next_at(*last_, at);
  if (next > now.wall) return false;
  // The latest of the hours that have passed.
  Wall hour = next;
  for (Wall later = zone.next_at(hour, at); later <= now.wall; later = zone.next_at(hour, at))
    hour = later;
  if (now.wall - hour < kStillCivil) return true;
  last_ = now.wall;
  return false;
}

std::vector<Task> TaskRound::take(const std::vector<BatchStanding>& batches, Wall now,
                                  const Zone& zone) {
  last_ = now;
  std::vector<Task> tasks;
  std::set<std::string> known;
  for (const BatchStanding& batch : batches) {
    if (batch.record.ended_at || !batch.record.set) continue;
    for (const BatchDate& date : batch.dates) {
      const std::string key = key_of(batch.record.id, date);
      if (told_.contains(key)) known.insert(key);
      if (date.done || is_past(date, now) || day_of(date.from, zone) > day_of(now, zone)) continue;
      if (known.insert(key).second) tasks.push_back({batch.record.id, batch.cabinet_name, date});
    }
  }
  told_ = std::move(known);
  std::stable_sort(tasks.begin(), tasks.end(),
                   [](const Task& a, const Task& b) { return a.date.from < b.date.from; });
  return tasks;
}

Tree TaskRound::keep() const {
  Tree tree = Tree::map();
  if (last_) tree.add("last", Tree(to_rfc3339(*last_)));
  Tree told = Tree::list();
  for (const std::string& key : told_) told.add(Tree(key));
  tree.add("told", std::move(told));
  return tree;
}

void TaskRound::restore(const Tree& tree) {
  last_ = parse_rfc3339(tree.get("last"));
  told_.clear();
  if (const Tree* told = tree.find("told"))
    for (const auto& [unused, item] : told->members) told_.insert(std::string(item.text));
}

}  // namespace clutchward
