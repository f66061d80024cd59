// "What wakes whom": the table of contacts, hours and priorities as a plain page. It only shows;
// the configuration says.
#include "notification/wake_table.h"
#include "notification/wording.h"
#include "web/handlers.h"
#include "web/html.h"
#include "web/site.h"

namespace clutchward {
namespace {

constexpr std::string_view kWakes = R"(<main>
<h1>{{title}}</h1>
<p class="note">By the clocks of {{zone}}. A high alarm always reaches somebody.</p>
{{#people}}
<section>
<h2><bdi>{{name}}</bdi></h2>
<p>Told {{told}}</p>
<table>
<thead><tr><th scope="col">When</th><th scope="col">High</th><th scope="col">Medium</th><th scope="col">Low</th></tr></thead>
<tbody>
{{#rows}}
<tr><th scope="row">{{when}}</th><td>{{high}}</td><td>{{medium}}</td><td>{{low}}</td></tr>
{{/rows}}
</tbody>
</table>
{{#notes}}
<p class="note">{{text}}</p>
{{/notes}}
</section>
{{/people}}
{{^people?}}<p>Nobody is told anything: there are no contacts.</p>
{{/people?}}<p class="note">"waits": told when that time ends, if it is still so and nobody has it. "if nobody else": outside the hours.</p>
</main>
)";

HtmlData person_data(const WakePerson& one) {
  HtmlData data;
  put(data, "name", person(one.contact));
  put(data, "told", one.told);
  HtmlList rows;
  for (const WakeRow& row : one.rows) {
    HtmlData each;
    put(each, "when", row.when);
    put(each, "high", row.rings[0]);
    put(each, "medium", row.rings[1]);
    put(each, "low", row.rings[2]);
    rows.push_back(std::move(each));
  }
  put_list(data, "rows", std::move(rows));
  HtmlList notes;
  for (const std::string& note : one.notes) notes.push_back(line(note));
  put_list(data, "notes", std::move(notes));
  return data;
}

}  // namespace

void get_wakes(Site& site, const Request&, const Visitor& visitor, const Respond& respond) {
  HtmlData page;
  put(page, "title", "What wakes whom");
  put(page, "zone", site.door.watch().zone.name());
  HtmlList people;
  for (const WakePerson& one : site.door.wakes()) people.push_back(person_data(one));
  put_list(page, "people", std::move(people));
  respond(html(200, document(kWakes, page, site.gate.terms(), visitor)));
}

}  // namespace clutchward
