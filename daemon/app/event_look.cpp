// Two lists into one.
#include "app/event_look.h"

#include <algorithm>

namespace clutchward {

EventsFound look_back(const HistoryFile* file, const std::string& why,
                      const std::vector<HistoryEvent>& waiting, const EventsWanted& wanted) {
  EventsFound found;
  found.trouble = why;
  HistoryQuestion question;
  question.cabinet = wanted.cabinet;
  question.batch = wanted.batch;
  question.to = wanted.until + Span{1};
  const std::size_t enough = wanted.skip + wanted.most + 1;
  std::vector<HistoryEvent> rows;
  if (file != nullptr)
    if (const auto trouble = file->events_back(question, enough, rows))
      found.trouble = trouble->why;
  // Newest first, the last handed over first among those of one instant, as the file has them. What
  // is being committed may stand in both places.
  std::vector<HistoryEvent> all;
  for (auto row = waiting.rbegin(); row != waiting.rend(); ++row) {
    if (row->at > wanted.until || (!wanted.cabinet.empty() && row->cabinet != wanted.cabinet) ||
        (!wanted.batch.empty() && row->batch != wanted.batch))
      continue;
    if (std::find(rows.begin(), rows.end(), *row) == rows.end()) all.push_back(*row);
  }
  all.insert(all.end(), rows.begin(), rows.end());
  std::stable_sort(all.begin(), all.end(),
                   [](const auto& one, const auto& other) { return one.at > other.at; });
  for (std::size_t i = wanted.skip; i < all.size(); ++i) {
    auto noted = parse_event(all[i].json);
    if (!noted) continue;
    if (found.events.size() == wanted.most) {
      found.more = true;
      break;
    }
    found.events.push_back({std::move(*noted), std::move(all[i].json)});
  }
  return found;
}

}  // namespace clutchward
