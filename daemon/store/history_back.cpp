// The history read backwards: the newest first, as a person looks for what has just happened.
#include "store/history_file.h"
#include "store/history_statement.h"

namespace clutchward {

std::optional<HistoryFile::Trouble> HistoryFile::events_back(
    const HistoryQuestion& question, std::size_t most, std::vector<HistoryEvent>& into) const {
  constexpr Wall kEver{Span{std::int64_t{1} << 56}};
  Statement ask(database_, R"(
select at, cabinet, batch, json from event
where at < ?1 and (?2 = '' or cabinet = ?2) and (?3 = '' or batch = ?3)
order by at desc, id desc limit ?4)");
  ask.bind(question.to.value_or(kEver).time_since_epoch().count(), question.cabinet, question.batch,
           static_cast<std::int64_t>(most));
  while (ask.row())
    into.push_back({Wall(Span(ask.number(0))), ask.text(1), ask.text(2), ask.text(3)});
  if (!ask.ended()) return trouble("cannot be read");
  return std::nullopt;
}

}  // namespace clutchward
