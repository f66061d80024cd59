// The status page: views into the words of the template.
#include "web/page.h"

#include <algorithm>
#include <kainjow/mustache.hpp>

#include "base/check.h"
#include "base/limits.h"
#include "base/utf8.h"
#include "web/page_words.h"
#include "web/standing.h"

namespace clutchward {
namespace {

using kainjow::mustache::data;
using List = kainjow::mustache::list;

constexpr std::string_view kAlarmPartial =
    R"(<div class="alarm"><p><strong>{{what}}</strong> {{figures}}</p>
<p>{{since}}</p>
{{#who}}<p class="who">{{who}}</p>
{{/who}}</div>
)";

// Control characters and bytes that are no UTF-8 have no place in a document; a number and its
// degrees stay on one line.
std::string clean(std::string_view text) {
  std::string out;
  while (!text.empty()) {
    const utf8::Character next = utf8::first(text);
    const bool odd = next.bytes == 0 || next.code < 0x20 || (next.code >= 0x7f && next.code < 0xa0);
    const std::size_t bytes = std::max<std::size_t>(next.bytes, 1);
    if (text.starts_with(" °"))
      out += "\u00a0";
    else
      out += odd ? "\xEF\xBF\xBD" : text.substr(0, bytes);
    text.remove_prefix(bytes);
  }
  return out;
}

void put(data& into, const char* key, std::string_view text) {
  if (text.empty())
    into.set(key, data::type::bool_false);
  else
    into.set(key, clean(text));
}

data line(std::string_view text) {
  data out;
  put(out, "text", text);
  return out;
}

// A list and, for its heading, whether there is anything in it.
void put_list(data& into, const std::string& key, List list) {
  into.set(key + "?", !list.empty());
  into.set(key, data(std::move(list)));
}

const char* tone_of(Standing standing) {
  switch (standing) {
    case Standing::needs_you:
      return "wrong";
    case Standing::in_hand:
      return "held";
    case Standing::look:
    case Standing::no_data:
    case Standing::pending:
      return "look";
    case Standing::unwatched:
      return "quiet";
    case Standing::fine:
      break;
  }
  return "fine";
}

data alarm_data(const AlarmView& alarm, const WatchView& watch) {
  const PageWords words(watch);
  data out;
  put(out, "what", words.fault(alarm));
  put(out, "figures", words.figures(alarm));
  put(out, "since", words.since(alarm));
  put(out, "who", words.who(alarm));
  return out;
}

data cabinet_data(const CabinetView& cabinet, const WatchView& watch) {
  const PageWords words(watch);
  data out;
  const Standing standing = standing_of(cabinet);
  put(out, "name", cabinet.name.empty() ? cabinet.id : cabinet.name);
  put(out, "tone", tone_of(standing));
  put(out, "mark", words.mark(standing));
  put(out, "value", words.value(cabinet));
  put(out, "trend", cabinet.no_data ? "" : words.trend(cabinet.trend));
  put(out, "age", words.age(cabinet));
  List alarms;
  for (const AlarmView* alarm : alarms_worst_first(cabinet))
    alarms.push_back(alarm_data(*alarm, watch));
  put_list(out, "alarms", std::move(alarms));
  List notes;
  for (const std::string& note : words.notes(cabinet)) notes.push_back(line(note));
  put_list(out, "notes", std::move(notes));
  List batches;
  for (const BatchView& batch : cabinet.batches) {
    data each = line(words.batch(batch));
    put(each, "id", batch.id);
    batches.push_back(std::move(each));
  }
  put_list(out, "batches", std::move(batches));
  return out;
}

std::string newest_text(const WatchView& watch, const std::vector<CabinetView>& cabinets) {
  std::optional<Wall> newest;
  for (const CabinetView& cabinet : cabinets)
    if (cabinet.last_reading && (!newest || *cabinet.last_reading > *newest))
      newest = cabinet.last_reading;
  if (!newest) return "No reading has come yet.";
  return "Newest reading " + about(watch.now - *newest) + " ago.";
}

const char* headline_tone(const std::vector<const CabinetView*>& sorted, const WatchView& watch) {
  for (const AlarmView& alarm : watch.alarms)
    if (standing_of(alarm) == Standing::needs_you) return "wrong";
  return sorted.empty() ? "quiet" : tone_of(standing_of(*sorted.front()));
}

}  // namespace

std::string_view page_style() { return kPageStyle; }

std::string page_html(const WatchView& watch, const std::vector<CabinetView>& cabinets) {
  const PageWords words(watch);
  const auto sorted = worst_first(cabinets);
  data page;
  put(page, "site", watch.site.empty() ? "Clutchward" : watch.site);
  put(page, "headline", headline(cabinets, watch.alarms));
  put(page, "tone", headline_tone(sorted, watch));
  put(page, "now", words.clock_and_zone(watch.now));
  put(page, "newest", newest_text(watch, cabinets));
  List doubts;
  for (const std::string& doubt : words.doubts()) doubts.push_back(line(doubt));
  put_list(page, "doubts", std::move(doubts));
  List site_alarms;
  for (const AlarmView& alarm : watch.alarms) site_alarms.push_back(alarm_data(alarm, watch));
  put_list(page, "site_alarms", std::move(site_alarms));
  List shown;
  const std::size_t most = std::min(sorted.size(), limits::kPageCabinets);
  for (std::size_t i = 0; i < most; ++i) shown.push_back(cabinet_data(*sorted[i], watch));
  put_list(page, "cabinets", std::move(shown));
  if (most < sorted.size())
    put(page, "more",
        "and " + std::to_string(sorted.size() - most) +
            " more, none of them worse off than those above");
  else
    put(page, "more", "");
  List facts;
  for (const auto& [what, text] : words.facts()) {
    data fact = line(text);
    put(fact, "what", what);
    facts.push_back(std::move(fact));
  }
  put_list(page, "facts", std::move(facts));
  page.set("alarm", data(kainjow::mustache::partial{[] { return std::string(kAlarmPartial); }}));
  kainjow::mustache::mustache pattern{std::string(kPageTemplate)};
  CHECK(pattern.is_valid());
  return pattern.render(page);
}

}  // namespace clutchward
