// The batches that there are and were, and one of them: what was done with it and its whole curve.
#include <algorithm>

#include "base/text.h"
#include "web/curve_ask.h"
#include "web/curve_page.h"
#include "web/handlers.h"
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
{{#batches}}<li><a href="{{to}}"><bdi>{{id}}</bdi></a><span>{{text}}</span></li>
{{/batches}}</ul>
</section>
{{/groups}}</main>
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
<p class="inner"><a href="/api/batch/{{id_part}}">Its record as JSON</a></p>
<p>A report for paper is made on the machine itself: <code>clutchward report {{title}} --out {{title}}.html</code></p>
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

HtmlData group_data(const char* title, std::size_t place,
                    const std::vector<const BatchStanding*>& batches) {
  HtmlData group = line(title);
  put(group, "place", std::to_string(place));
  HtmlList list;
  for (const BatchStanding* batch : batches) {
    HtmlData each = line(batch_words(*batch));
    put(each, "id", batch->record.id);
    put(each, "to", "/batches/" + in_address(batch->record.id));
    list.push_back(std::move(each));
  }
  group.set("batches", HtmlData(std::move(list)));
  return group;
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
  put_partials(page);
  respond(html(200, document(kBatch, page, site.gate.terms(), visitor)));
}

}  // namespace

void get_batches_page(Site& site, const Request&, const Visitor& visitor, const Respond& respond) {
  const auto all = site.door.batches(true);
  std::vector<const BatchStanding*> running;
  std::vector<const BatchStanding*> planned;
  std::vector<const BatchStanding*> ended;
  for (const BatchStanding& batch : all)
    (batch.record.ended_at ? ended : batch.record.set ? running : planned).push_back(&batch);
  std::stable_sort(ended.begin(), ended.end(), [](const auto* one, const auto* other) {
    return *one->record.ended_at > *other->record.ended_at;
  });
  HtmlList groups;
  const auto add = [&](const char* title, std::vector<const BatchStanding*>& batches) {
    if (batches.size() > kListed) batches.resize(kListed);
    if (!batches.empty()) groups.push_back(group_data(title, groups.size() + 1, batches));
  };
  add("Running", running);
  add("Planned", planned);
  add("Ended, the latest first", ended);
  HtmlData page;
  put(page, "title", "Batches");
  put_list(page, "groups", std::move(groups));
  respond(html(200, document(kBatches, page, site.gate.terms(), visitor)));
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
