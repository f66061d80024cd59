// The forms of a batch's life: start, candle, weigh, move, end.
#include "base/limits.h"
#include "web/cabinet_page.h"
#include "web/page_words.h"
#include "web/site.h"

namespace clutchward {
namespace {

struct FateWord {
  Fate fate;
  const char* text;
};

// What is seen against the light, in the order of the thirds; and what the end can be.
constexpr FateWord kCandled[] = {{Fate::infertile, "Clear"},
                                 {Fate::dead_early, "Dead, first third"},
                                 {Fate::dead_middle, "Dead, second third"},
                                 {Fate::dead_late, "Dead, last third"},
                                 {Fate::cracked, "Cracked"},
                                 {Fate::culled, "Culled"}};
constexpr FateWord kEnded[] = {{Fate::hatched, "Hatched"},
                               {Fate::pipped, "Pipped, not hatched"},
                               {Fate::infertile, "Clear"},
                               {Fate::dead_early, "Dead, first third"},
                               {Fate::dead_middle, "Dead, second third"},
                               {Fate::dead_late, "Dead, last third"},
                               {Fate::culled, "Culled"},
                               {Fate::other, "Something else"}};

template <std::size_t N>
HtmlList fates_data(const FateWord (&fates)[N]) {
  HtmlList list;
  for (const FateWord& each : fates) {
    HtmlData data = line(each.text);
    put(data, "word", name_of(each.fate));
    list.push_back(std::move(data));
  }
  return list;
}

HtmlData choice(const std::string& value, const std::string& text) {
  HtmlData each = line(text);
  put(each, "value", value);
  return each;
}

// Where a batch of this cabinet can go; none where there are too many to choose from.
HtmlList places_data(const Site& site, const CabinetView& cabinet) {
  HtmlList places;
  auto briefs = site.door.briefs(0, limits::kChoices + 1);
  if (briefs.size() > limits::kChoices) return places;
  std::sort(briefs.begin(), briefs.end(),
            [](const auto& one, const auto& other) { return one.id < other.id; });
  for (const CabinetBrief& brief : briefs) {
    const auto view = brief.id == cabinet.id ? std::nullopt : site.door.cabinet(brief.id);
    if (view) places.push_back(choice(brief.id, view->name.empty() ? brief.id : view->name));
  }
  return places;
}

HtmlList profiles_data(const Site& site) {
  HtmlList profiles;
  if (!site.door.profiles) return profiles;
  const auto all = site.door.profiles();
  if (all.size() > limits::kChoices) return profiles;
  for (const auto& [id, name] : all)
    profiles.push_back(choice(id, name == id ? id : name + " (" + id + ")"));
  return profiles;
}

}  // namespace

void put_batch_forms(HtmlData& page, const Site& site, const CabinetView& cabinet,
                     const WatchView& watch) {
  const PageWords words(watch);
  HtmlList running;
  for (const BatchView& batch : cabinet.batches) {
    HtmlData each = line(words.batch(batch));
    put(each, "id", batch.id);
    put(each, "place", std::to_string(running.size() + 1));
    each.set("set", batch.set);
    running.push_back(std::move(each));
  }
  put_list(page, "running", std::move(running));
  put_list(page, "fates", fates_data(kCandled));
  put_list(page, "outcomes", fates_data(kEnded));
  put_list(page, "places", places_data(site, cabinet));
  put_list(page, "profiles", profiles_data(site));
}

}  // namespace clutchward
