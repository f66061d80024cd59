// A batch's report as the keeper's command makes it, and batches beside one another. The report is
// sent as it is: one document that a person can keep, allowed nothing but its own style.
#include <algorithm>
#include <array>
#include <memory>

#include "access/random.h"
#include "base/limits.h"
#include "base/text.h"
#include "report/report.h"
#include "web/handlers.h"
#include "web/html.h"
#include "web/long_answers.h"
#include "web/site.h"

namespace clutchward {
namespace {

constexpr std::string_view kBefore = "/batches/";

constexpr std::string_view kCompare = R"(<main>
<h1>{{title}}</h1>
{{#said}}<p class="said">{{said}}</p>
{{/said}}{{#columns?}}<div class="wide" tabindex="0" role="group" aria-label="The figures">
<table class="figures">
<thead><tr><th scope="col">Figure</th>{{#columns}}<th scope="col"><a href="/batches/{{part}}"><bdi>{{text}}</bdi></a></th>{{/columns}}</tr></thead>
<tbody>
{{#rows}}<tr><th scope="row">{{text}}</th>{{#cells}}<td>{{text}}</td>{{/cells}}</tr>
{{/rows}}</tbody>
</table>
</div>
<p class="note">The same steps and measures for every batch; each batch's report says more.</p>
<p class="inner"><a href="/api/compare?{{query}}">The same as JSON</a></p>
{{/columns?}}{{#choices?}}<section aria-labelledby="which">
<h2 id="which">Which batches?</h2>
<form method="get" action="/compare">
{{#choices}}<label class="tick"><input type="checkbox" name="batch" value="{{id}}"{{#chosen}} checked{{/chosen}}> <span><bdi>{{id}}</bdi>{{#text}}, {{text}}{{/text}}</span></label>
{{/choices}}<button>Compare</button>
</form>
</section>
{{/choices?}}</main>
)";

struct Figure {
  const char* key;
  const char* words;
};
// In the order of report_figures; what is not here is told by its key.
constexpr Figure kFigures[] = {
    {"name", "Species"},
    {"set_at", "Set"},
    {"eggs", "Eggs set"},
    {"mean_temperature", "Mean temperature, °C"},
    {"hours_above", "Hours more than 0.8 °C above"},
    {"hours_below", "Hours more than 1.4 °C below"},
    {"mean_humidity", "Mean humidity, %"},
    {"mass_lost_percent", "Mass lost, %"},
    {"alarms", "Alarms"},
    {"fertility_percent", "Fertility, %"},
    {"hatch_of_fertile_percent", "Hatch of fertile, %"},
    {"hatch_of_set_percent", "Hatch of set, %"},
};

// Of a row of boxes nobody ticks more (our own choice).
constexpr std::size_t kChoices = 60;

std::string id_in(const Request& request, std::string_view after) {
  return request.path.substr(kBefore.size(), request.path.size() - kBefore.size() - after.size());
}

// What came, or why nothing did, for a person or for a program.
std::optional<Answer> refusal_of(const Report& report) {
  if (!report) return sentence(503, "Too many reports are being made just now: try again.");
  if (report->unknown) return sentence(404, report->trouble);
  if (!report->trouble.empty()) return sentence(500, report->trouble);
  return std::nullopt;
}

// Allows the one style that stands in the document, by what it says (CSP level 3, hash sources).
std::string policy_for(const std::string& page) {
  const auto begin = page.find("<style>") + 7;
  const auto end = page.find("</style>", begin);
  std::string hash = to_base64url(sha256(std::string_view(page).substr(begin, end - begin)));
  std::replace(hash.begin(), hash.end(), '-', '+');
  std::replace(hash.begin(), hash.end(), '_', '/');
  return "default-src 'none'; style-src 'sha256-" + hash +
         "='; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";
}

// On paper there is nowhere to go: the report's style prints no nav.
std::string with_way_back(std::string page, const std::string& batch) {
  constexpr std::string_view kBody = "<body>";
  const auto at = page.find(kBody);
  if (at == std::string::npos) return page;
  return page.insert(at + kBody.size(), "\n<nav><a href=\"/batches/" + in_address(batch) +
                                            "\">Back to the batch</a></nav>");
}

void ask(Site& site, ReportWanted wanted, const Respond& respond,
         std::function<Answer(const ReportMade&)> made) {
  if (!site.door.report) return respond(sentence(404, "No reports are made here."));
  site.door.report(std::move(wanted), [respond, made = std::move(made)](const Report& report) {
    auto refusal = refusal_of(report);
    respond(refusal ? std::move(*refusal) : made(*report));
  });
}

// Each once, in the order in which they are named.
std::vector<std::string> named(const Request& request) {
  std::vector<std::string> batches;
  for (const auto& [name, value] : request.query)
    if (name == "batch" && std::find(batches.begin(), batches.end(), value) == batches.end())
      batches.push_back(value);
  return batches;
}

std::string too_many() {
  return "At most " + std::to_string(limits::kComparedBatches) +
         " batches stand beside one another.";
}

std::string cell(const std::string& key, const Json& figures, const Zone& zone) {
  const auto found = figures.find(key);
  if (found == figures.end() || found->is_null()) return "-";
  if (!found->is_string()) return found->dump();
  const auto text = found->get<std::string>();
  const auto at = key == "set_at" ? parse_rfc3339(text) : std::nullopt;
  if (!at) return text;
  const auto day = std::chrono::floor<std::chrono::days>(zone.to_local(*at));
  const std::chrono::year_month_day date{day};
  std::array<char, 40> buffer{};
  std::snprintf(buffer.data(), buffer.size(), "%04d-%02u-%02u", static_cast<int>(date.year()),
                static_cast<unsigned>(date.month()), static_cast<unsigned>(date.day()));
  return buffer.data();
}

void put_table(HtmlData& page, const Json& all, const Zone& zone) {
  HtmlList columns;
  std::string query;
  for (const Json& figures : all) {
    const auto id = figures["batch"].get<std::string>();
    HtmlData column = line(id);
    put(column, "part", in_address(id));
    columns.push_back(std::move(column));
    query += (query.empty() ? "batch=" : "&batch=") + in_address(id);
  }
  put_list(page, "columns", std::move(columns));
  put(page, "query", query);
  HtmlList rows;
  for (const Figure& figure : kFigures) {
    HtmlData row = line(figure.words);
    HtmlList cells;
    for (const Json& figures : all) cells.push_back(line(cell(figure.key, figures, zone)));
    put_list(row, "cells", std::move(cells));
    rows.push_back(std::move(row));
  }
  page.set("rows", HtmlData(std::move(rows)));
}

// A batch that can be chosen for a comparison: one that was set.
struct Choice {
  std::string id;
  std::string name;
  Wall set_at{};
};

// The latest first; of thousands the first are enough.
HtmlList choices(std::vector<Choice> all, const std::vector<std::string>& chosen) {
  std::stable_sort(all.begin(), all.end(), [](const Choice& one, const Choice& other) {
    return one.set_at > other.set_at;
  });
  if (all.size() > kChoices) all.resize(kChoices);
  HtmlList list;
  for (const Choice& each : all) {
    HtmlData choice = line(each.name);
    put(choice, "id", each.id);
    choice.set("chosen", std::find(chosen.begin(), chosen.end(), each.id) != chosen.end());
    list.push_back(std::move(choice));
  }
  return list;
}

struct Compared {
  Json figures = Json::array();  // of each batch
  std::vector<std::string> chosen;
  std::string said_too;
  unsigned status = 200;
};

void compare_page(Site& site, const Visitor& visitor, Compared compared, const Respond& respond) {
  const auto all = std::make_shared<std::vector<Choice>>();
  for_every_batch(
      site,
      [all](const BatchStanding& batch) {
        if (batch.record.set)
          all->push_back({batch.record.id, batch.record.name, batch.record.set_at});
      },
      [&site, all, visitor, compared = std::move(compared), respond] {
        HtmlData page;
        put(page, "title", "Batches beside one another");
        put(page, "said", compared.said_too);
        put_table(page, compared.figures, site.door.watch().zone);
        put_list(page, "choices", choices(std::move(*all), compared.chosen));
        respond(html(compared.status, document(kCompare, page, site.gate.terms(), visitor)));
      });
}

}  // namespace

void get_report(Site& site, const Request& request, const Visitor&, const Respond& respond) {
  ask(site, {ReportForm::page, {id_in(request, "/report")}, {}}, respond,
      [id = id_in(request, "/report")](const ReportMade& made) {
        Answer answer = html(200, with_way_back(made.body, id));
        answer.headers.emplace_back("Content-Security-Policy", policy_for(made.body));
        return answer;
      });
}

void get_report_json(Site& site, const Request& request, const Visitor&, const Respond& respond) {
  ask(site, {ReportForm::json, {id_in(request, "/report.json")}, {}}, respond,
      [](const ReportMade& made) {
        return Answer{200, "application/json", made.body, "", {}, {}};
      });
}

void get_report_csv(Site& site, const Request& request, const Visitor&, const Respond& respond) {
  const std::string id = id_in(request, "/report.csv");
  std::string table(request.parameter("table"));
  if (table.empty()) table = "batch";
  // RFC 6266 and RFC 8187: the name under which a phone keeps it.
  const std::string kept =
      "attachment; filename*=UTF-8''" + in_address(id) + "-" + in_address(table) + ".csv";
  ask(site, {ReportForm::table, {id}, table}, respond, [kept](const ReportMade& made) {
    return Answer{200, "text/csv; charset=utf-8; header=present", made.body,
                  "",  {{"Content-Disposition", kept}},           {}};
  });
}

void get_compare(Site& site, const Request& request, const Visitor& visitor,
                 const Respond& respond) {
  const std::vector<std::string> batches = named(request);
  if (batches.empty()) return compare_page(site, visitor, {}, respond);
  if (batches.size() > limits::kComparedBatches)
    return compare_page(site, visitor, {Json::array(), batches, too_many(), 400}, respond);
  if (!site.door.report) return respond(sentence(404, "No reports are made here."));
  site.door.report({ReportForm::figures, batches, {}},
                   [&site, visitor, batches, respond](const Report& report) {
                     Compared compared{Json::array(), batches, {}};
                     if (const auto refusal = refusal_of(report)) {
                       compared.said_too = refusal->body;
                       compared.status = refusal->status;
                     } else {
                       compared.figures = Json::parse(report->body);
                     }
                     compare_page(site, visitor, std::move(compared), respond);
                   });
}

void get_compare_json(Site& site, const Request& request, const Visitor&, const Respond& respond) {
  std::vector<std::string> batches = named(request);
  if (batches.empty())
    return respond(sentence(400, "Which batches? Expected ?batch=ID, once for each."));
  if (batches.size() > limits::kComparedBatches) return respond(sentence(400, too_many()));
  ask(site, {ReportForm::figures, std::move(batches), {}}, respond, [](const ReportMade& made) {
    return Answer{200, "application/json", made.body, "", {}, {}};
  });
}

}  // namespace clutchward
