// What happened, of one cabinet, of one batch or of all: newest first, a page at a time, out of the
// history.
#include <nlohmann/json.hpp>

#include "base/limits.h"
#include "base/text.h"
#include "web/event_ask.h"
#include "web/handlers.h"
#include "web/html.h"
#include "web/page_words.h"
#include "web/site.h"

namespace clutchward {
namespace {

constexpr std::string_view kHappened = R"(<main>
<h1>{{title}}</h1>
<p class="note">The newest first. Times by the clocks of {{zone}}.</p>
{{#trouble}}<p class="said">{{trouble}}</p>
{{/trouble}}{{#events?}}<ul class="list">
{{#events}}<li><b><time datetime="{{time}}">{{at}}</time></b> {{#name}}<bdi>{{name}}</bdi>: {{/name}}{{text}}</li>
{{/events}}</ul>
{{/events?}}{{^events?}}<p>Nothing {{#late}}before that {{/late}}is kept.</p>
{{/events?}}<nav class="pages" aria-label="More of what happened">
<ul>
{{#newest}}<li><a href="{{newest}}">The newest</a></li>
{{/newest}}{{#older}}<li><a href="{{older}}">Older ones</a></li>
{{/older}}</ul>
</nav>
</main>
)";

constexpr std::size_t kOnePage = 50;  // a few thumbs' length (our own choice)

// None with what is wrong in `fault`.
std::optional<EventsWanted> wanted_of(const Request& request, Wall now, std::string& fault) {
  EventsWanted wanted;
  wanted.cabinet = request.parameter("cabinet");
  wanted.batch = request.parameter("batch");
  wanted.most = kOnePage;
  wanted.until = now;
  const std::string until(request.parameter("until"));
  const auto at = parse_rfc3339(until);
  if (!until.empty() && !at) {
    fault =
        "until: \"" + printable(until, 60) + "\" is no time; expected such as 2026-03-01T08:00:00Z";
    return std::nullopt;
  }
  if (at) wanted.until = *at;
  const std::string skip(request.parameter("skip"));
  if (skip.empty()) return wanted;
  const bool digits = skip.size() <= 6 && skip.find_first_not_of("0123456789") == std::string::npos;
  wanted.skip = digits ? std::stoul(skip) : limits::kEventsSkipped + 1;
  if (wanted.skip <= limits::kEventsSkipped) return wanted;
  fault = "skip: \"" + printable(skip, 60) + "\"; expected a number from 0 to " +
          std::to_string(limits::kEventsSkipped);
  return std::nullopt;
}

// Where the next page begins: at the time of the last that was shown, past those of that time.
EventsWanted next_of(EventsWanted wanted, const EventsFound& found) {
  const Wall last = found.events.back().noted.event.at;
  std::size_t same = 0;
  for (const PastEvent& each : found.events) same += each.noted.event.at == last ? 1 : 0;
  wanted.skip = last == wanted.until ? wanted.skip + same : same;
  wanted.until = last;
  return wanted;
}

std::string query_of(const EventsWanted& wanted, bool place) {
  std::string query;
  const auto add = [&](const char* name, const std::string& value) {
    if (!value.empty()) query += (query.empty() ? "?" : "&") + std::string(name) + "=" + value;
  };
  add("cabinet", in_address(wanted.cabinet));
  add("batch", in_address(wanted.batch));
  if (place) add("until", in_address(to_rfc3339(wanted.until)));
  if (place) add("skip", std::to_string(wanted.skip));
  return query;
}

// "39.8 °C" of a value within a band; the other kinds' numbers have units of their own.
std::string figure(const PageWords& words, const NotedEvent& noted) {
  const AlarmEvent& event = noted.event;
  const bool tells = event.kind == EventKind::raised || event.kind == EventKind::worsened;
  const bool band = noted.kind == RuleKind::above || noted.kind == RuleKind::below;
  if (!tells || !band || !event.value) return {};
  if (noted.quantity == Quantity::temperature) return " at " + words.temperature(*event.value);
  if (noted.quantity == Quantity::humidity) return " at " + milli_text(*event.value, 0) + " %";
  return {};
}

std::string year_where_another(const WatchView& watch, Wall at) {
  const auto year = [&](Wall time) {
    return std::chrono::year_month_day(
               std::chrono::floor<std::chrono::days>(watch.zone.to_local(time)))
        .year();
  };
  return year(at) == year(watch.now) ? "" : " " + std::to_string(static_cast<int>(year(at)));
}

Answer show(const Site& site, const Visitor& visitor, const EventsWanted& wanted, bool late,
            const EventsFound& found) {
  const WatchView watch = site.door.watch();
  const PageWords words(watch);
  HtmlData page;
  const std::string of = !wanted.cabinet.empty() ? wanted.cabinet : wanted.batch;
  put(page, "title", of.empty() ? "What happened" : "What happened: " + of);
  put(page, "zone", watch.zone.name());
  put(page, "trouble", found.trouble);
  HtmlList list;
  for (const PastEvent& each : found.events) {
    const AlarmEvent& event = each.noted.event;
    HtmlData data = line(words.happened(event) + figure(words, each.noted));
    put(data, "at", words.clock(event.at) + year_where_another(watch, event.at));
    put(data, "time", to_rfc3339(event.at));
    put(data, "name",
        !wanted.cabinet.empty()     ? ""
        : event.key.cabinet.empty() ? "The watch"
                                    : event.key.cabinet);
    list.push_back(std::move(data));
  }
  put_list(page, "events", std::move(list));
  page.set("late", late);
  put(page, "newest", late ? "/history" + query_of(wanted, false) : "");
  put(page, "older", found.more ? "/history" + query_of(next_of(wanted, found), true) : "");
  return html(200, document(kHappened, page, site.gate.terms(), visitor));
}

std::string json_of(const EventsWanted& wanted, const EventsFound& found) {
  std::string out = "{\"events\":[";
  for (const PastEvent& each : found.events) {
    if (out.back() != '[') out += ',';
    out += each.json;
  }
  out += "],\"older\":";
  out += found.more ? "\"/api/events" + query_of(next_of(wanted, found), true) + "\"" : "null";
  out += ",\"trouble\":";
  out += found.trouble.empty()
             ? "null"
             : nlohmann::json(found.trouble)
                   .dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
  return out + "}\n";
}

void look(Site& site, const Request& request, const Respond& respond,
          std::function<Answer(const EventsWanted&, const EventsFound&)> found_them) {
  std::string fault;
  const auto wanted = wanted_of(request, site.door.now().wall, fault);
  if (!wanted) return respond(sentence(400, fault));
  if (!site.door.events) return respond(sentence(404, "No history is kept."));
  site.door.events(*wanted, [respond, wanted = *wanted,
                             found_them = std::move(found_them)](const Events& found) {
    if (!found) return respond(sentence(503, "Too many look at the history just now: try again."));
    respond(found_them(wanted, *found));
  });
}

}  // namespace

void get_happened(Site& site, const Request& request, const Visitor& visitor,
                  const Respond& respond) {
  const bool late = !request.parameter("until").empty();
  look(site, request, respond,
       [&site, visitor, late](const EventsWanted& wanted, const EventsFound& found) {
         return show(site, visitor, wanted, late, found);
       });
}

void get_past_events(Site& site, const Request& request, const Visitor&, const Respond& respond) {
  look(site, request, respond, [](const EventsWanted& wanted, const EventsFound& found) {
    if (!found.trouble.empty() && found.events.empty()) return sentence(500, found.trouble);
    return Answer{200, "application/json", json_of(wanted, found), "", {}, {}};
  });
}

}  // namespace clutchward
