// The curve as a section of a page, and the history for programs.
#include "web/curve_page.h"

#include <charconv>

#include "base/limits.h"
#include "base/text.h"
#include "web/curve_ask.h"
#include "web/handlers.h"
#include "web/site.h"

namespace clutchward {

const std::string_view kCurvePartial =
    R"(<section id="curve" aria-labelledby="curve-title" data-query="{{curve_query}}" data-unit="{{curve_unit}}" data-zone="{{curve_zone}}" data-until="{{curve_until}}">
<h2 id="curve-title">{{curve_title}}</h2>
{{#curve_choices?}}<ul class="choices">
{{#curve_choices}}<li><a href="{{to}}"{{#chosen}} aria-current="true"{{/chosen}}>{{text}}</a></li>
{{/curve_choices}}</ul>
{{/curve_choices?}}{{#curve_words}}<p>{{text}}</p>
{{/curve_words}}{{#heat_picture?}}<div class="plot" data-quantity="temperature">{{{heat_picture}}}</div>
<p class="note">The line is the mean of the probes, the ribbon lowest to highest; shaded is where no rule rings, dashed the target. A wedge at the top is an alarm, its bar as long as it lasted.</p>
{{/heat_picture?}}{{#air_picture?}}<div class="plot" data-quantity="humidity">{{{air_picture}}}</div>
{{/air_picture?}}{{#curve_rows?}}<details><summary>The same as a table</summary>
<table class="figures">
<thead><tr><th scope="col">{{curve_row}}</th><th scope="col">Lowest {{curve_degrees}}</th><th scope="col">Mean {{curve_degrees}}</th><th scope="col">Highest {{curve_degrees}}</th><th scope="col">Humidity</th></tr></thead>
<tbody>
{{#curve_rows}}<tr><th scope="row">{{at}}</th><td>{{low}}</td><td>{{mean}}</td><td>{{high}}</td><td>{{humidity}}</td></tr>
{{/curve_rows}}</tbody>
</table>
<p class="inner"><a href="/api/history?{{curve_query}}&amp;format=csv">As CSV</a></p>
</details>
{{/curve_rows?}}</section>
)";

namespace {

using namespace std::chrono_literals;

// What a program asks for; the sentence where it cannot be.
struct Range {
  Wall from{};
  Wall to{};
  Span step{0};
};

Result<Range> range_of(const Request& request, Wall now) {
  const auto time = [&](const char* name, Wall otherwise) -> std::optional<Wall> {
    const std::string_view text = request.parameter(name);
    return text.empty() ? std::optional(otherwise) : parse_rfc3339(text);
  };
  const auto wrong = [&](const char* name) {
    return Refusal{std::string(name) + " is \"" +
                   printable(std::string(request.parameter(name)), 64) +
                   "\"; expected a time such as 2026-03-01T08:00:00Z"};
  };
  const auto to = time("to", now);
  if (!to) return wrong("to");
  const auto from = time("from", *to - 24h);
  if (!from) return wrong("from");
  Range range{*from, std::min(*to, now), 5min};
  const std::string_view step = request.parameter("step");
  std::int64_t seconds = 0;
  const auto [end, error] = std::from_chars(step.data(), step.data() + step.size(), seconds);
  if (!step.empty() && error == std::errc() && end == step.data() + step.size() && seconds >= 60 &&
      seconds % 60 == 0 && seconds <= 864'000)
    range.step = std::chrono::seconds(seconds);
  else if (!step.empty())
    return Refusal{"step is \"" + printable(std::string(step), 64) +
                   "\"; expected seconds, whole minutes of them: 60, 300, 3600"};
  if (range.from >= range.to) return Refusal{"from lies not before to, or to come"};
  if ((range.to - range.from) / range.step > static_cast<std::int64_t>(limits::kCurvePoints))
    return Refusal{"that are more than " + std::to_string(limits::kCurvePoints) +
                   " steps; expected a larger step or a shorter time"};
  return range;
}

// A program's own words: never kept ready, and waited for as long as it takes.
void fetch_for_program(Site& site, CurveView view, bool csv, const Respond& respond) {
  if (!site.door.curve) return respond(sentence(404, "No history is kept: history is off."));
  CurveWanted wanted = view.wanted;
  site.door.curve(
      std::move(wanted), [&site, view = std::move(view), csv, respond](const Curve& curve) mutable {
        if (!curve)
          return respond(sentence(503, "Too much is asked of the history. Try again soon."));
        view.curve = curve;
        view.alarms = alarms_of(curve->events);
        put_bands(site, view);
        if (csv) return respond({200, "text/csv; charset=utf-8", curve_csv(view), "", {}, {}});
        respond({200, "application/json", curve_json(view) + "\n", "", {}, {}});
      });
}

HtmlData choice(const std::string& to, const std::string& text, bool chosen) {
  HtmlData each = line(text);
  put(each, "to", to);
  each.set("chosen", chosen);
  return each;
}

}  // namespace

void put_curve(HtmlData& page, const CurveView& view, const CurvePlace& place,
               const WatchView& watch) {
  put(page, "curve_title",
      view.wanted.batch.empty() ? "The last 24 hours" : "All of " + view.wanted.batch);
  HtmlList said;
  for (const std::string& each : curve_words(view, watch)) said.push_back(line(each));
  put_list(page, "curve_words", std::move(said));
  const auto picture = [&](const char* key, Quantity quantity) {
    const std::string svg = curve_picture(view, quantity, watch);
    page.set(std::string(key) + "?", !svg.empty());
    page.set(key, svg);
  };
  picture("heat_picture", Quantity::temperature);
  picture("air_picture", Quantity::humidity);
  put(page, "curve_unit", watch.show == Show::fahrenheit ? "fahrenheit" : "celsius");
  put(page, "curve_degrees", watch.show == Show::fahrenheit ? "°F" : "°C");
  put(page, "curve_zone", watch.zone.name());
  put(page, "curve_query", place.query);
  put(page, "curve_until",
      std::to_string(view.wanted.to().time_since_epoch() / 1min) + place.query);
  put(page, "curve_row", view.day_zero ? "Day" : "Hour");
  put_list(page, "curve_rows", curve_rows(view, watch));
  HtmlList choices;
  if (place.batches.size() > 0) {
    choices.push_back(choice(place.page, "24 hours", view.wanted.batch.empty()));
    for (const std::string& batch : place.batches)
      choices.push_back(choice(place.page + "?batch=" + in_address(batch), "All of " + batch,
                               view.wanted.batch == batch));
  }
  put_list(page, "curve_choices", std::move(choices));
}

void get_history(Site& site, const Request& request, const Visitor&, const Respond& respond) {
  const std::string_view format = request.parameter("format");
  if (!format.empty() && format != "csv" && format != "json")
    return respond(sentence(
        400, "format is \"" + printable(std::string(format), 32) + "\"; expected json or csv"));
  const bool csv = format == "csv";
  const Wall now = site.door.now().wall;
  if (const std::string batch(request.parameter("batch")); !batch.empty()) {
    const auto standing = site.door.batch(batch);
    if (!standing) return respond(sentence(404, "no batch \"" + printable(batch, 64) + "\""));
    auto view = life_of(site, *standing, now);
    if (!view) return respond(sentence(404, "batch " + printable(batch, 64) + " is not set yet"));
    return fetch_for_program(site, std::move(*view), csv, respond);
  }
  const std::string id(request.parameter("cabinet"));
  const auto cabinet = site.door.cabinet(id);
  if (id.empty()) return respond(sentence(400, "Say cabinet=... or batch=..."));
  if (!cabinet) return respond(sentence(404, "no cabinet \"" + printable(id, 64) + "\""));
  const auto range = range_of(request, now);
  if (!range) return respond(sentence(400, range.why()));
  CurveView view = day_of(*cabinet, now);
  view.wanted.stays.front().from = range->from;
  view.wanted.stays.front().to = range->to;
  view.wanted.step = range->step;
  fetch_for_program(site, std::move(view), csv, respond);
}

}  // namespace clutchward
