// A cabinet's own page, and the card for its door.
#include <algorithm>
#include <qrcodegen/qrcodegen.hpp>

#include "base/text.h"
#include "web/handlers.h"
#include "web/page.h"
#include "web/page_words.h"
#include "web/site.h"

namespace clutchward {
namespace {

constexpr std::string_view kCabinet = R"(<main>
<h1><bdi>{{title}}</bdi></h1>
<p class="note" id="now">{{now}}</p>
<div id="cards">
{{#cards}}{{>card}}{{/cards}}
</div>
{{#probes?}}
<section aria-labelledby="probes">
<h2 id="probes">Probes</h2>
<table>
<thead><tr><th scope="col">Probe</th><th scope="col">Says</th><th scope="col">When</th></tr></thead>
<tbody>
{{#probes}}
<tr><th scope="row"><bdi>{{name}}</bdi></th><td>{{text}}</td><td>{{at}}</td></tr>
{{/probes}}
</tbody>
</table>
</section>
{{/probes?}}
<section aria-labelledby="rules">
<h2 id="rules">Rules in force</h2>
<table>
<thead><tr><th scope="col">Rule</th><th scope="col">Rings at</th><th scope="col">Stands</th></tr></thead>
<tbody>
{{#rules}}
<tr><th scope="row"><bdi>{{name}}</bdi></th><td>{{text}}</td><td>{{state}}</td></tr>
{{/rules}}
</tbody>
</table>
</section>
{{#next?}}
<section aria-labelledby="next">
<h2 id="next">What comes next</h2>
<ul>
{{#next}}
<li><b>{{at}}</b> <bdi>{{name}}</bdi>: {{text}}</li>
{{/next}}
</ul>
</section>
{{/next?}}
{{#guide?}}
<section aria-labelledby="guide">
<h2 id="guide">For whoever stands in</h2>
<ul>
{{#guide}}
<li>{{text}}</li>
{{/guide}}
</ul>
</section>
{{/guide?}}
{{#lately?}}
<section aria-labelledby="lately">
<h2 id="lately">What happened lately</h2>
<ul>
{{#lately}}
<li><b>{{at}}</b> {{text}}</li>
{{/lately}}
</ul>
</section>
{{/lately?}}
{{#manage}}
<section aria-labelledby="batches">
<h2 id="batches">Batches</h2>
{{#running}}
<details><summary>Move or end {{id}}…</summary>
<form method="post" action="/do" class="fields">
<input type="hidden" name="token" value="{{form_token}}"><input type="hidden" name="to" value="{{to}}"><input type="hidden" name="batch" value="{{id}}">
<label for="move-{{id}}">Move to the cabinet</label>
<input id="move-{{id}}" name="move_to" maxlength="64" autocapitalize="none">
<button name="do" value="batch_move">Move it</button>
<button name="do" value="batch_end">End it</button>
</form></details>
{{/running}}
<details><summary>Start a batch…</summary>
<form method="post" action="/do" class="fields">
<input type="hidden" name="token" value="{{form_token}}"><input type="hidden" name="to" value="{{to}}"><input type="hidden" name="cabinet" value="{{cabinet}}"><input type="hidden" name="do" value="batch_start">
<label for="new-id">A name for it, without blanks</label>
<input id="new-id" name="batch" required maxlength="64" autocapitalize="none">
<label for="new-profile">Species: the profile's name</label>
<input id="new-profile" name="profile" required maxlength="64" autocapitalize="none">
<label for="new-eggs">Eggs</label>
<input id="new-eggs" name="eggs" inputmode="numeric" pattern="[0-9]*" maxlength="6">
<button class="main">Start it now</button>
</form></details>
</section>
{{/manage}}
<p class="inner"><a href="{{card_link}}">A card for its door</a></p>
</main>
)";

constexpr std::string_view kDoor = R"(<main class="door">
<h1><bdi>{{title}}</bdi></h1>
{{{code}}}
<p>{{address}}</p>
<p class="note">{{site}}: what it is now, and what to do about it.</p>
</main>
)";

HtmlList probes_data(const CabinetView& cabinet, const PageWords& words) {
  HtmlList list;
  for (const ProbeView& probe : cabinet.probes) {
    const bool percent = probe.quantity == Quantity::humidity;
    const bool degrees =
        probe.quantity == Quantity::temperature || probe.quantity == Quantity::wet_bulb;
    std::string says = percent   ? milli_text(probe.value, 0) + " %"
                       : degrees ? words.temperature(probe.value)
                                 : milli_exact(probe.value);
    says += " " + std::string(name_of(probe.quantity));
    HtmlData each = line(says + (probe.fresh ? "" : ", old"));
    put(each, "name", probe.probe);
    put(each, "at", probe.at ? words.clock(*probe.at) : "time not known");
    list.push_back(std::move(each));
  }
  return list;
}

HtmlList rules_data(const CabinetView& cabinet, const PageWords& words) {
  HtmlList list;
  for (const AlarmView& alarm : cabinet.alarms) {
    std::string limit = words.limit(alarm);
    HtmlData each = line(limit.empty() ? std::string(name_of(alarm.kind)) : limit);
    put(each, "name", alarm.key.alarm + (alarm.key.batch.empty() ? "" : " of " + alarm.key.batch));
    std::string state(name_of(alarm.state));
    std::replace(state.begin(), state.end(), '_', ' ');
    put(each, "state", state + ", " + std::string(name_of(alarm.priority)));
    list.push_back(std::move(each));
  }
  return list;
}

// First aid before where things are, line by line.
HtmlList guide_data(const CabinetView& cabinet) {
  HtmlList list;
  for (const auto& [title, text] :
       {std::pair{"First aid: ", &cabinet.first_aid}, {"Where things are: ", &cabinet.where}})
    for (std::size_t at = 0; at < text->size();) {
      const std::size_t end = std::min(text->find('\n', at), text->size());
      if (end > at) list.push_back(line((at == 0 ? title : "") + text->substr(at, end - at)));
      at = end + 1;
    }
  return list;
}

// A path for the dark squares of each row: no image, so nothing is fetched.
std::string qr_svg(const std::string& text) {
  using qrcodegen::QrCode;
  constexpr int kQuiet = 4;  // modules of margin (ISO/IEC 18004, from memory)
  const QrCode code = QrCode::encodeText(text.c_str(), QrCode::Ecc::MEDIUM);
  const int size = code.getSize();
  const std::string side = std::to_string(size + 2 * kQuiet);
  std::string svg =
      "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 " + side + " " + side +
      "\" role=\"img\" aria-label=\"QR code of the address below\"><path fill=\"#000\" d=\"";
  for (int y = 0; y < size; ++y)
    for (int x = 0; x < size; ++x)
      if (code.getModule(x, y))
        svg += "M" + std::to_string(x + kQuiet) + " " + std::to_string(y + kQuiet) + "h1v1h-1z";
  return svg + "\"/></svg>";
}

std::optional<CabinetView> cabinet_at(const Site& site, const Request& request,
                                      std::string_view before, const Visitor& visitor,
                                      const Respond& respond) {
  const std::string id = request.path.substr(before.size());
  auto cabinet = site.door.cabinet(id);
  if (!cabinet)
    respond(said(404, "No such cabinet", "There is no cabinet \"" + printable(id, 64) + "\".", "/",
                 site, visitor));
  return cabinet;
}

std::string name_of_cabinet(const CabinetView& cabinet) {
  return cabinet.name.empty() ? cabinet.id : cabinet.name;
}

}  // namespace

void get_cabinet_page(Site& site, const Request& request, const Visitor& visitor,
                      const Respond& respond) {
  const auto cabinet = cabinet_at(site, request, "/cabinets/", visitor, respond);
  if (!cabinet) return;
  const WatchView watch = site.door.watch();
  const PageWords words(watch);
  const PageScene scene{watch, site.gate.terms(), visitor, site.lately, site.door.batches(false)};
  HtmlData page;
  page.set("renews", true);
  put(page, "title", name_of_cabinet(*cabinet));
  put(page, "now", words.clock_and_zone(watch.now));
  HtmlList cards;
  cards.push_back(card_data(*cabinet, scene, "/cabinets/" + in_address(cabinet->id)));
  put_list(page, "cards", std::move(cards));
  put_list(page, "probes", probes_data(*cabinet, words));
  put_list(page, "rules", rules_data(*cabinet, words));
  put_list(page, "guide", guide_data(*cabinet));
  constexpr std::size_t kLately = 30;
  put_list(page, "lately", lately_data(scene, cabinet->id, kLately));
  constexpr std::size_t kNext = 12;
  put_list(page, "next", next_data(scene, cabinet->id, kNext));
  page.set("manage", visitor.may_do(Role::manage) && !visitor.form_token.empty());
  put(page, "cabinet", cabinet->id);
  put(page, "form_token", visitor.form_token);
  put(page, "to", "/cabinets/" + in_address(cabinet->id));
  HtmlList running;
  for (const BatchView& batch : cabinet->batches) {
    HtmlData each;
    put(each, "id", batch.id);
    running.push_back(std::move(each));
  }
  put_list(page, "running", std::move(running));
  put(page, "card_link", "/cards/" + in_address(cabinet->id));
  put_partials(page);
  respond(html(200, document(kCabinet, page, site.gate.terms(), visitor)));
}

void get_card(Site& site, const Request& request, const Visitor& visitor, const Respond& respond) {
  const auto cabinet = cabinet_at(site, request, "/cards/", visitor, respond);
  if (!cabinet) return;
  const PageTerms& terms = site.gate.terms();
  std::string base = terms.page.url;
  if (base.empty())
    base = (request.encrypted ? "https://" : "http://") + std::string(request.header("Host"));
  const std::string address = base + "/cabinets/" + in_address(cabinet->id);
  HtmlData page;
  put(page, "title", name_of_cabinet(*cabinet));
  put(page, "address", address);
  page.set("code", qr_svg(address));
  respond(html(200, document(kDoor, page, terms, visitor)));
}

}  // namespace clutchward
