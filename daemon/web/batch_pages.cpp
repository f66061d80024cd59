// The batches that there are and were, and one of them: what was done with it and its whole curve.
#include <algorithm>
#include <memory>

#include "base/text.h"
#include "web/curve_ask.h"
#include "web/curve_page.h"
#include "web/handlers.h"
#include "web/long_answers.h"
#include "web/page.h"
#include "web/page_words.h"
#include "web/site.h"

namespace clutchward {
namespace {

constexpr std::string_view kBatches = R"(<main>
<h1>Batches</h1>
{{^groups?}}<p class="note">No batch has been started yet: a cabinet's own page has the form for it.</p>
{{/groups?}}{{#groups}}<section aria-labelledby="group-{{place}}">
<h2 id="group-{{place}}">{{text}}</h2>
<ul class="list">
{{#batches}}<li><a href="{{to}}"><bdi>{{id}}</bdi></a><span>{{text}}</span>{{#report}}<a class="more" href="{{report}}">Report<span class="unseen"> of {{id}}</span></a>{{/report}}</li>
{{/batches}}</ul>
</section>
{{/groups}}<p class="inner"><a href="/compare">Batches beside one another</a></p>
</main>
)";

constexpr std::string_view kBatch = R"(<main>
<h1><bdi>{{title}}</bdi></h1>
<p class="note">{{text}}</p>
{{#has_curve}}{{>curve}}{{/has_curve}}{{>coming}}<section id="part-done" aria-labelledby="done">
<h2 id="done">What was done</h2>
{{#done?}}<ul>
{{#done}}<li><b>{{at}}</b> {{text}}</li>
{{/done}}</ul>
{{/done?}}{{^done?}}<p class="note">Nothing yet.</p>
{{/done?}}</section>
<section id="part-data" aria-labelledby="data">
<h2 id="data">To keep and to print</h2>
<ul class="choices">
{{#report}}<li><a href="{{report}}">Its report</a></li>
<li><a href="{{report}}.json">The report as JSON</a></li>
<li><a href="{{report}}.csv">Its figures as CSV</a></li>
<li><a href="{{report}}.csv?table=temperature">Temperatures as CSV</a></li>
<li><a href="{{report}}.csv?table=alarms">Alarms as CSV</a></li>
<li><a href="/compare?batch={{id_part}}">Beside other batches</a></li>
{{/report}}<li><a href="/history?batch={{id_part}}">All that happened to it</a></li>
<li><a href="/api/batch/{{id_part}}">Its record as JSON</a></li>
</ul>
</section>
</main>
)";

// Nobody scrolls past so many (our own choice); /api/batches/all has every one.
constexpr std::size_t kListed = 200;

std::string fates_words(const Fates& fates) {
  std::string text;
  for (const auto& [fate, number] : fates) {
    std::string word(name_of(fate));
    std::replace(word.begin(), word.end(), '_', ' ');
    text += (text.empty() ? "" : ", ") + std::to_string(number) + " " + word;
  }
  return text;
}

std::string by(const std::string& person) { return person.empty() ? "" : ", by " + person; }

std::string batch_words(const BatchStanding& batch) {
  const BatchRecord& record = batch.record;
  std::string text = record.name.empty() ? record.profile : record.name;
  if (!batch.cabinet_name.empty()) text += " in " + batch.cabinet_name;
  if (record.ended_at)
    text += ", ended on day " + milli_text(static_cast<std::int64_t>(batch.day * 1000), 0);
  else if (record.set)
    text += ", day " + milli_text(static_cast<std::int64_t>(batch.day * 1000), 0) + " of " +
            milli_exact(static_cast<std::int64_t>(record.days * 1000));
  if (record.ended_at && !record.outcome.empty())
    text += ": " + fates_words(record.outcome);
  else if (record.eggs > 0)
    text +=
        ", " + std::to_string(record.eggs_left()) + " of " + std::to_string(record.eggs) + " eggs";
  return text;
}

struct Done {
  Wall at{};
  std::string text;
};

std::string weighing_words(const Weighing& weighing) {
  return "Weighed: " + milli_exact(static_cast<std::int64_t>(weighing.grams * 1000)) + " g" +
         (weighing.eggs > 0 ? ", " + std::to_string(weighing.eggs) + " eggs" : "") +
         by(weighing.by);
}

std::vector<Done> done_with(const BatchRecord& record) {
  std::vector<Done> done;
  if (record.set)
    done.push_back({record.set_at, record.eggs > 0 ? "Set: " + std::to_string(record.eggs) + " eggs"
                                                   : std::string("Set")});
  for (const StageBegun& stage : record.stages) done.push_back({stage.at, "Stage " + stage.name});
  for (const Candling& candling : record.candlings) {
    const std::string out = fates_words(candling.removed);
    done.push_back({candling.at, "Candled: " + (out.empty() ? "all good" : out + " taken out") +
                                     (candling.note.empty() ? "" : " (" + candling.note + ")") +
                                     by(candling.by)});
  }
  for (const Weighing& weighing : record.weighings)
    done.push_back({weighing.at, weighing_words(weighing)});
  for (const Relocation& move : record.moves)
    done.push_back({move.at, "Moved from " + move.from + " to " + move.to + by(move.by)});
  for (const Correction& each : record.corrections)
    done.push_back({each.at, "Put right: " + each.what + by(each.by)});
  if (record.ended_at)
    done.push_back({*record.ended_at,
                    "Ended" + (record.outcome.empty() ? "" : ": " + fates_words(record.outcome)) +
                        by(record.ended_by)});
  std::stable_sort(done.begin(), done.end(),
                   [](const Done& one, const Done& other) { return one.at > other.at; });
  return done;
}

// Of a batch that is only planned there is nothing to report.
void put_report(HtmlData& into, const std::string& batch, bool begun) {
  put(into, "report", begun ? "/batches/" + in_address(batch) + "/report" : "");
}

// What the list of all batches says of one.
struct Listed {
  std::string id;
  std::string text;
  bool begun = false;
  Wall ended_at{};
};

// Batches of one kind, in the order in which they are shown; of thousands, the first are enough.
struct Group {
  const char* title;
  std::vector<Listed> batches;
  std::size_t all = 0;

  void add(const BatchStanding& batch) {
    ++all;
    if (batch.record.ended_at)
      batches.push_back({batch.record.id, batch_words(batch), true, *batch.record.ended_at});
    else if (batches.size() < kListed)
      batches.push_back({batch.record.id, batch_words(batch), batch.record.set, {}});
  }
};

struct Groups {
  Group running{"Running", {}};
  Group planned{"Planned", {}};
  Group ended{"Ended, the latest first", {}};

  void add(const BatchStanding& batch) {
    (batch.record.ended_at ? ended : batch.record.set ? running : planned).add(batch);
  }
};

HtmlData group_data(const Group& group, std::size_t place) {
  std::string title = group.title;
  if (group.all > group.batches.size())
    title += ": " + std::to_string(group.batches.size()) + " of " + std::to_string(group.all);
  HtmlData out = line(title);
  put(out, "place", std::to_string(place));
  HtmlList list;
  for (const Listed& batch : group.batches) {
    HtmlData each = line(batch.text);
    put(each, "id", batch.id);
    put(each, "to", "/batches/" + in_address(batch.id));
    put_report(each, batch.id, batch.begun);
    list.push_back(std::move(each));
  }
  out.set("batches", HtmlData(std::move(list)));
  return out;
}

void show_batches(const Site& site, Groups& found, const Visitor& visitor, const Respond& respond) {
  auto& ended = found.ended.batches;
  std::stable_sort(ended.begin(), ended.end(), [](const Listed& one, const Listed& other) {
    return one.ended_at > other.ended_at;
  });
  if (ended.size() > kListed) ended.resize(kListed);
  HtmlList groups;
  for (const Group* group : {&found.running, &found.planned, &found.ended})
    if (!group->batches.empty()) groups.push_back(group_data(*group, groups.size() + 1));
  HtmlData page;
  put(page, "title", "Batches");
  put_list(page, "groups", std::move(groups));
  respond(html(200, document(kBatches, page, site.gate.terms(), visitor)));
}

void show_batch(Site& site, const BatchStanding& batch, const Visitor& visitor,
                const std::optional<CurveView>& curve, const Respond& respond) {
  const WatchView watch = site.door.watch();
  const PageWords words(watch);
  const PageScene scene{watch, site.gate.terms(), visitor, site.lately, {batch}, std::nullopt};
  HtmlData page;
  page.set("plots", curve.has_value());
  put(page, "title", batch.record.id);
  put(page, "id_part", in_address(batch.record.id));
  put(page, "text", batch_words(batch));
  put_report(page, batch.record.id, batch.record.set);
  page.set("has_curve", curve.has_value());
  if (curve)
    put_curve(
        page, *curve,
        {"/batches/" + in_address(batch.record.id), "batch=" + in_address(batch.record.id), {}},
        watch);
  constexpr std::size_t kNext = 12;
  put_list(page, "next", batch.record.ended_at ? HtmlList() : next_data(scene, "", kNext));
  HtmlList done;
  for (const Done& each : done_with(batch.record)) {
    HtmlData data = line(each.text);
    put(data, "at", words.clock(each.at));
    done.push_back(std::move(data));
  }
  put_list(page, "done", std::move(done));
  respond(html(200, document(kBatch, page, site.gate.terms(), visitor)));
}

}  // namespace

void get_batches_page(Site& site, const Request&, const Visitor& visitor, const Respond& respond) {
  const auto found = std::make_shared<Groups>();
  for_every_batch(
      site, [found](const BatchStanding& batch) { found->add(batch); },
      [&site, found, visitor, respond] { show_batches(site, *found, visitor, respond); });
}

void get_batch_page(Site& site, const Request& request, const Visitor& visitor,
                    const Respond& respond) {
  constexpr std::string_view kBefore = "/batches/";
  const std::string id = request.path.substr(kBefore.size());
  const auto batch = site.door.batch(id);
  if (!batch)
    return respond(said(404, "No such batch", "There is no batch \"" + printable(id, 64) + "\".",
                        "/batches", site, visitor));
  auto view = life_of(site, *batch, site.door.now().wall);
  if (!view) return show_batch(site, *batch, visitor, std::nullopt, respond);
  fetch_curve(site, "life/" + id, std::move(*view),
              [&site, batch = *batch, visitor, respond](const CurveView& curve) {
                show_batch(site, batch, visitor, curve, respond);
              });
}

}  // namespace clutchward
