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
{{#sent}}<p class="done" role="status">{{sent}}</p>
{{/sent}}{{#people}}
<section>
<h2><bdi>{{name}}</bdi></h2>
<p>Told {{told}}</p>
<table>
<thead><tr><th scope="col">When</th><th scope="col">High</th><th scope="col">Medium</th><th scope="col">Low</th></tr></thead>
<tbody>
{{#rows}}
<tr><th scope="row">{{#days}}<span class="whole">{{days}}</span> {{/days}}<span class="whole">{{when}}</span></th><td>{{high}}</td><td>{{medium}}</td><td>{{low}}</td></tr>
{{/rows}}
</tbody>
</table>
{{#notes}}
<p class="note">{{text}}</p>
{{/notes}}
{{#test}}<form class="deeds" method="post" action="/do?to={{back}}"><input type="hidden" name="token" value="{{form_token}}"><input type="hidden" name="contact" value="{{contact}}"><button name="do" value="message_test">{{test}}</button></form>
{{/test}}</section>
{{/people}}
{{^people?}}<p>Nobody is told anything: there are no contacts.</p>
{{/people?}}<p class="note">"waits": told when that time ends, if it is still so and nobody has it. "if nobody else": outside the hours.</p>
</main>
)";

HtmlData person_data(const WakePerson& one, const Visitor& visitor) {
  HtmlData data;
  put(data, "name", person(one.contact));
  put(data, "told", one.told);
  const bool may = visitor.may_do(Role::manage) && !visitor.form_token.empty();
  const bool own = visitor.person == one.contact;
  put(data, "test",
      !may  ? ""
      : own ? "Send me a test message"
            : "Send " + person(one.contact) + " a test message");
  put(data, "contact", one.contact);
  put(data, "back", in_address("/wakes?sent=" + in_address(one.contact)));
  HtmlList rows;
  for (const WakeRow& row : one.rows) {
    HtmlData each;
    // "mon-fri 08:00-18:00" breaks between the two, and nowhere else.
    const std::size_t hours = row.when.rfind(' ');
    put(each, "days", hours == row.when.npos ? "" : row.when.substr(0, hours));
    put(each, "when", hours == row.when.npos ? row.when : row.when.substr(hours + 1));
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

void get_wakes(Site& site, const Request& request, const Visitor& visitor, const Respond& respond) {
  HtmlData page;
  put(page, "title", "What wakes whom");
  put(page, "zone", site.door.watch().zone.name());
  put(page, "sent", "");
  HtmlList people;
  for (const WakePerson& one : site.door.wakes()) {
    people.push_back(person_data(one, visitor));
    if (request.parameter("sent") == one.contact)
      put(page, "sent", "A test message is on its way to " + person(one.contact) + ".");
  }
  put(page, "form_token", visitor.form_token);
  put_list(page, "people", std::move(people));
  respond(html(200, document(kWakes, page, site.gate.terms(), visitor)));
}

}  // namespace clutchward
