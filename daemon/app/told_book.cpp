// Messages to rows of the history.
#include "app/told_book.h"

#include <algorithm>

#include "base/limits.h"
#include "quality/people.h"
#include "wire/event_json.h"

namespace clutchward {
namespace {

// What the message told loudly, one entry an alarm's annunciation; "" where it told none.
std::string alarms_of(const Notification& message) {
  auto all = nlohmann::ordered_json::array();
  for (const AlarmEvent& event : message.events)
    if (is_annunciation(event.kind))
      all.push_back({event.key.cabinet, event.key.batch, event.key.alarm, name_of(event.kind),
                     std::int64_t{event.at.time_since_epoch().count()}});
  if (all.empty()) return {};
  return all.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace);
}

}  // namespace

void ToldBook::sent(const Notification& message, std::string_view way, HistoryRows& rows) {
  const Key key{message.made_at, number_of_message(message.id)};
  if (!under_way_.emplace(message.id, key).second) return;  // tried again
  // One that was thrown away is never reported on; ids begin with their time.
  if (under_way_.size() > 2 * limits::kOutboxEntries) under_way_.erase(under_way_.begin());
  HistoryTold row;
  row.at = key.first;
  row.number = key.second;
  row.contact = message.contact;
  row.way = way;
  row.urgency = name_of(message.urgency);
  row.sort = sort_of(message);
  row.cabinet = message.subject.cabinet;
  row.batch = message.subject.batch;
  row.alarm = message.subject.alarm;
  row.episode = message.episode;
  row.first_line = message.first_line;
  std::pair<Wall, std::string> text{message.made_at, message.first_line};
  if (auto& last = last_[message.contact]; last != text) {
    row.alarms = alarms_of(message);
    last = std::move(text);
  }
  rows.told.push_back(std::move(row));
}

void ToldBook::report(const DeliveryReport& report, Wall now, HistoryRows& rows) {
  const auto found = under_way_.find(report.id);
  if (found == under_way_.end() || report.outcome != Outcome::delivered) return;
  const auto [at, number] = found->second;
  under_way_.erase(found);
  // Mostly its row has not been handed over yet: then it is one row and not a row and its change.
  const auto row = std::find_if(
      rows.told.rbegin(), rows.told.rend(),
      [at = at, number = number](const auto& one) { return one.at == at && one.number == number; });
  if (row != rows.told.rend()) {
    row->delivered_at = now;
    return;
  }
  HistoryTold later;
  later.at = at;
  later.number = number;
  later.delivered_at = now;
  rows.told.push_back(std::move(later));
}

}  // namespace clutchward
