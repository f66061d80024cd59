// The status page: views into the words of the template.
#include "web/page.h"

#include <algorithm>
#include <charconv>
#include <memory>

#include "base/limits.h"
#include "web/answers.h"
#include "web/curve_page.h"
#include "web/handlers.h"
#include "web/page_words.h"
#include "web/site.h"
#include "web/standing.h"
#include "web/told_words.h"

namespace clutchward {
namespace {

struct Look {
  const char* tone;
  const char* shape;  // beside the colour and the word
};

Look look_of(Standing standing) {
  switch (standing) {
    case Standing::needs_you:
      return {"wrong", "▲"};
    case Standing::in_hand:
      return {"held", "■"};
    case Standing::look:
      return {"look", "◆"};
    case Standing::no_data:
      return {"look", "○"};
    case Standing::pending:
      return {"look", "△"};
    case Standing::unwatched:
    case Standing::empty:
      return {"quiet", "□"};
    case Standing::fine:
      break;
  }
  return {"fine", "●"};
}

std::optional<WhoKnows> told_of(const AlarmView& alarm, const PageScene& scene) {
  return scene.told ? scene.told(alarm) : std::nullopt;
}

HtmlData alarm_data(const AlarmView& alarm, const PageScene& scene) {
  const PageWords words(scene.watch);
  HtmlData out;
  put(out, "what", words.fault(alarm));
  put(out, "figures", words.figures(alarm));
  put(out, "since", words.since(alarm));
  put(out, "who", words.who(alarm));
  put(out, "told", told_words(alarm, told_of(alarm, scene), scene.lately, words));
  return out;
}

// Where a card's form goes: what is short in an address would be a field of its own in each form.
std::string action_for(const std::string& cabinet, const std::string& to) {
  std::string query;
  if (!cabinet.empty()) query += "cabinet=" + in_address(cabinet);
  if (to != "/") query += (query.empty() ? "to=" : "&to=") + in_address(to);
  return query.empty() ? "/do" : "/do?" + query;
}

// The buttons under one card. `alarms` may be of one cabinet, or of the site.
void put_deeds(HtmlData& out, const std::vector<AlarmView>& alarms, const std::string& cabinet,
               const PageScene& scene, const std::string& to) {
  const Answers answers = answers_for(alarms);
  const bool can = scene.visitor.may_do(Role::answer) && !scene.visitor.form_token.empty();
  out.set("deeds?", can && (answers.any() || !cabinet.empty()));
  out.set("acknowledge", answers.acknowledge);
  out.set("snooze", answers.snooze);
  out.set("unsnooze", answers.unsnooze);
  out.set("pass_on", std::any_of(alarms.begin(), alarms.end(), [&](const AlarmView& alarm) {
            if (!fits(Deed::pass_on, alarm)) return false;
            const auto told = told_of(alarm, scene);
            return !told || told->somebody_left;
          }));
  out.set("reset", answers.reset);
  out.set("cabinet", !cabinet.empty());
  out.set("turns", scene.turns);
  put(out, "form_token", scene.visitor.form_token);
  put(out, "action", action_for(cabinet, to));
  std::string covers;  // no id holds a blank
  for (const std::string& each : answers.covers) covers += (covers.empty() ? "" : " ") + each;
  put(out, "covers", covers);
  if (!answers.acknowledge) return put(out, "going", "");
  const auto again = rings_again(alarms, scene.watch.now);
  put(out, "going",
      "I am going" + (again ? "; rings again " + PageWords(scene.watch).clock(*again) : "") + ".");
}

// What has come back of a silent cabinet are its readings.
std::string mark_of(const CabinetView& cabinet, Standing standing, const PageWords& words) {
  if (standing == Standing::look && alarms_worst_first(cabinet).front()->kind == RuleKind::silent)
    return "Readings are back, have a look";
  return words.mark(standing);
}

std::string newest_text(const WatchView& watch, const Overview& overview) {
  if (!overview.newest) return "No reading has come yet.";
  return "Newest reading " + about(watch.now - *overview.newest) + " ago.";
}

// When a message last got out, whoever it went to.
std::string message_text(const WatchView& watch) {
  std::optional<Wall> last;
  for (const ChannelWatch& channel : watch.channels)
    if (channel.last_delivered && (!last || *channel.last_delivered > *last))
      last = channel.last_delivered;
  if (watch.channels.empty()) return "Nobody would be told: no contact is configured.";
  if (!last) return "No message has gone out since the start.";
  return "Last message out " + PageWords(watch).clock(*last) + ".";
}

Look headline_look(const Overview& overview, const WatchView& watch) {
  for (const AlarmView& alarm : watch.alarms)
    if (standing_of(alarm) == Standing::needs_you) return look_of(Standing::needs_you);
  return look_of(overview.worst);
}

std::string name_of_cabinet(const CabinetView& cabinet) {
  return cabinet.name.empty() ? cabinet.id : cabinet.name;
}

// Which of the pages this is, and the ways to those beside it.
void put_pages(HtmlData& page, const Overview& overview) {
  const std::size_t before = (overview.page - 1) * limits::kPageCabinets;
  const std::size_t last = before + overview.shown.size();
  const auto way = [](std::size_t number) { return "/?page=" + std::to_string(number); };
  page.set("pages?", overview.shown.size() < overview.all);
  put(page, "before", overview.page > 1 ? way(overview.page - 1) : "");
  put(page, "after", last < overview.all ? way(overview.page + 1) : "");
  put(page, "more",
      "Cabinets " + std::to_string(before + 1) + " to " + std::to_string(last) + " of " +
          std::to_string(overview.all) + ", the worst first");
}

}  // namespace

std::optional<Wall> last_look(Site& site, const Visitor& visitor) {
  if (visitor.person.empty()) return std::nullopt;
  return site.looks.look(visitor.person, site.door.now().wall);
}

HtmlData card_data(const CabinetView& cabinet, const PageScene& scene, const std::string& to) {
  const PageWords words(scene.watch);
  HtmlData out;
  const Standing standing = standing_of(cabinet, scene.watch.broker_linked);
  put(out, "id", cabinet.id);
  put(out, "link", "/cabinets/" + in_address(cabinet.id));
  put(out, "name", cabinet.name.empty() ? cabinet.id : cabinet.name);
  put(out, "tone", look_of(standing).tone);
  put(out, "shape", look_of(standing).shape);
  put(out, "mark", mark_of(cabinet, standing, words));
  put(out, "value", words.value(cabinet));
  put(out, "trend", cabinet.no_data ? "" : words.trend(cabinet.trend));
  put(out, "age", words.age(cabinet));
  HtmlList alarms;
  // What is left alone on purpose stands in a section of its own.
  for (const AlarmView* alarm : alarms_worst_first(cabinet))
    if (alarm->state != AlarmState::suppressed) alarms.push_back(alarm_data(*alarm, scene));
  put_list(out, "alarms", std::move(alarms));
  HtmlList notes;
  for (const std::string& note : words.notes(cabinet)) notes.push_back(line(note));
  put_list(out, "notes", std::move(notes));
  HtmlList batches;
  for (const BatchView& batch : cabinet.batches) {
    HtmlData each = line(words.batch(batch));
    put(each, "id", batch.id);
    batches.push_back(std::move(each));
  }
  put_list(out, "batches", std::move(batches));
  put_deeds(out, cabinet.alarms, cabinet.id, scene, to);
  out.set("attending", cabinet.attending_until.has_value());
  return out;
}

void put_happened(HtmlData& page, const PageScene& scene, const std::string& cabinet,
                  std::size_t most) {
  const PageWords words(scene.watch);
  const Wall since = scene.last_look.value_or(scene.watch.now - std::chrono::hours{24});
  HtmlList list;
  std::size_t older = 0;
  for (auto event = scene.lately.rbegin(); event != scene.lately.rend(); ++event) {
    if (event->at < since) break;
    if (!cabinet.empty() && event->key.cabinet != cabinet) continue;
    if (list.size() >= most) {
      ++older;
      continue;
    }
    HtmlData each = line(words.happened(*event));
    put(each, "at", words.clock(event->at));
    put(each, "name",
        !cabinet.empty()             ? ""
        : event->key.cabinet.empty() ? "The watch"
                                     : event->key.cabinet);
    list.push_back(std::move(each));
  }
  put(page, "happened_title", scene.last_look ? "Since you last looked" : "In the last 24 hours");
  std::string note = scene.last_look ? "You looked at " + words.clock(since) + ". " : "";
  if (list.empty()) note += "Nothing has happened" + std::string(scene.last_look ? " since." : ".");
  if (older > 0)
    note += std::string("Before these there ") + (older == 1 ? "was " : "were ") +
            std::to_string(older) + " more.";
  put(page, "happened_note", note);
  put(page, "happened_all",
      cabinet.empty() ? "/history" : "/history?cabinet=" + in_address(cabinet));
  put_list(page, "lately", std::move(list));
}

HtmlList next_data(const PageScene& scene, const std::string& cabinet, std::size_t most) {
  constexpr auto kPast = std::chrono::days{3};
  const PageWords words(scene.watch);
  std::vector<std::pair<const BatchDate*, const BatchStanding*>> coming;
  for (const BatchStanding& batch : scene.batches) {
    if (!cabinet.empty() && batch.record.cabinet != cabinet) continue;
    for (const BatchDate& date : batch.dates)
      if (!date.done && (date.to + kPast > scene.watch.now || date.kind == TaskKind::end_batch))
        coming.emplace_back(&date, &batch);
  }
  std::stable_sort(coming.begin(), coming.end(), [](const auto& one, const auto& other) {
    return one.first->from < other.first->from;
  });
  HtmlList list;
  for (const auto& [date, batch] : coming) {
    if (list.size() >= most) break;
    HtmlData each = line(date->what + (date->to < scene.watch.now ? " (not noted as done)" : ""));
    put(each, "at",
        words.clock(date->from) + (date->to > date->from ? " to " + words.clock(date->to) : ""));
    put(each, "name", (cabinet.empty() ? batch->cabinet_name + ", " : "") + batch->record.id);
    list.push_back(std::move(each));
  }
  return list;
}

Overview overview_of(Roll& roll, const WatchView& watch, std::size_t page,
                     const std::function<std::optional<CabinetView>(const std::string&)>& view) {
  Overview overview;
  overview.headline = roll.headline(watch.alarms);
  overview.all = roll.size();
  overview.worst = roll.worst();
  overview.newest = roll.newest();
  const std::size_t pages = (roll.size() + limits::kPageCabinets - 1) / limits::kPageCabinets;
  overview.page = std::clamp<std::size_t>(page, 1, std::max<std::size_t>(1, pages));
  for (const std::string& id :
       roll.places((overview.page - 1) * limits::kPageCabinets, limits::kPageCabinets))
    if (auto cabinet = view(id)) overview.shown.push_back(std::move(*cabinet));
  const PageWords words(watch);
  for (const CabinetView& cabinet : overview.shown)
    for (std::string& why : words.unwatched(cabinet)) {
      if (overview.unwatched.size() >= limits::kPageUnwatched) return overview;
      overview.unwatched.emplace_back(name_of_cabinet(cabinet), std::move(why));
    }
  return overview;
}

std::string page_html(const PageScene& scene, const Overview& overview) {
  const WatchView& watch = scene.watch;
  const PageWords words(watch);
  HtmlData page;
  page.set("renews", true);
  page.set("renews_plain", true);
  put(page, "headline", overview.headline);
  put(page, "title", overview.headline);
  put(page, "tone", headline_look(overview, watch).tone);
  put(page, "shape", headline_look(overview, watch).shape);
  put(page, "now", words.clock_and_zone(watch.now));
  put(page, "newest", newest_text(watch, overview));
  put(page, "broker", watch.broker_linked ? "Broker connected." : "Broker lost.");
  put(page, "out", message_text(watch));
  HtmlList doubts;
  for (const std::string& doubt : words.doubts()) doubts.push_back(line(doubt));
  put_list(page, "doubts", std::move(doubts));
  HtmlList site_alarms;
  for (const AlarmView& alarm : watch.alarms) site_alarms.push_back(alarm_data(alarm, scene));
  HtmlData site;
  put_deeds(site, watch.alarms, "", scene, "/");
  site.set("alarms", HtmlData(site_alarms));
  HtmlList site_cards;
  if (!site_alarms.empty()) site_cards.push_back(std::move(site));
  put_list(page, "site_cards", std::move(site_cards));
  HtmlList shown;
  const std::string here =
      overview.page > 1 ? "/?page=" + std::to_string(overview.page) : std::string("/");
  for (const CabinetView& cabinet : overview.shown)
    shown.push_back(card_data(cabinet, scene, here));
  put_list(page, "cabinets", std::move(shown));
  put_pages(page, overview);
  put(page, "cannot",
      scene.visitor.may_do(Role::answer)
          ? ""
          : (scene.terms.people.empty()
                 ? "This page only shows: the configuration does not say who may answer here "
                   "(people, or page.trust_loopback)."
                 : "You may look here, and not answer."));
  HtmlList unwatched;
  for (const auto& [name, why] : overview.unwatched) {
    HtmlData each = line(why);
    put(each, "name", name);
    unwatched.push_back(std::move(each));
  }
  put_list(page, "unwatched", std::move(unwatched));
  constexpr std::size_t kLately = 20;
  put_happened(page, scene, "", kLately);
  constexpr std::size_t kNext = 8;
  put_list(page, "next", next_data(scene, "", kNext));
  HtmlList facts;
  for (const auto& [what, text] : words.facts()) {
    HtmlData fact = line(text);
    put(fact, "what", what);
    facts.push_back(std::move(fact));
  }
  put_list(page, "facts", std::move(facts));
  return document(kPageTemplate, page, scene.terms, scene.visitor);
}

namespace {

void show_front(Site& site, Roll& roll, std::size_t number, const Visitor& visitor,
                const Respond& respond) {
  const WatchView watch = site.door.watch();
  const Overview overview = overview_of(roll, watch, number, site.door.cabinet);
  // What comes next is told of the batches that are on the page: with thousands of them, all would
  // be told of none.
  std::vector<BatchStanding> batches;
  for (const CabinetView& cabinet : overview.shown)
    for (const BatchView& batch : cabinet.batches)
      if (auto standing = site.door.batch(batch.id)) batches.push_back(std::move(*standing));
  const PageScene scene{watch,         site.gate.terms(),  visitor,
                        site.lately,   std::move(batches), last_look(site, visitor),
                        site.door.told};
  respond(html(200, page_html(scene, overview)));
}

}  // namespace

void get_front(Site& site, const Request& request, const Visitor& visitor, const Respond& respond) {
  constexpr std::size_t kRanked = 500;  // a part: under a millisecond
  std::size_t number = 1;
  const std::string_view wanted = request.parameter("page");
  std::from_chars(wanted.data(), wanted.data() + wanted.size(), number);
  const auto roll = std::make_shared<Roll>();
  in_slices(
      site.slices, kRanked, site.door.briefs,
      [roll, linked = site.door.watch().broker_linked](const CabinetBrief& each) {
        roll->add(each, linked);
      },
      [&site, roll, number, visitor, respond] {
        show_front(site, *roll, number, visitor, respond);
      });
}

void get_events(Site& site, const Request&, const Visitor&, const Respond& respond) {
  respond(site.streams.open(site.door.now().steady));
}

}  // namespace clutchward
