// Each answer grows in a string of its own, which its parts share.
#include "web/long_answers.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <memory>
#include <nlohmann/json.hpp>
#include <utility>
#include <vector>

#include "web/calendar.h"
#include "web/metrics.h"
#include "web/site.h"
#include "wire/picture_json.h"
#include "wire/record_json.h"

namespace clutchward {
namespace {

constexpr std::string_view kJson = "application/json";
// Parts that take about a millisecond (our own measure, on a machine of 2024): a view takes some
// 10 us, its JSON three times that, a batch with its dates a little less.
constexpr std::size_t kViews = 50;
constexpr std::size_t kPictures = 20;
constexpr std::size_t kBatches = 40;
constexpr std::size_t kJoined = 500;  // made already: 2 kB each to copy

nlohmann::ordered_json standing_json(const BatchStanding& batch) {
  auto out = record_json(batch.record);
  out["phase"] = name_of(batch.phase);
  out["day"] = batch.record.set ? nlohmann::ordered_json(std::round(batch.day * 100) / 100)
                                : nlohmann::ordered_json();
  out["dates"] = nlohmann::ordered_json::array();
  for (const BatchDate& date : batch.dates) out["dates"].push_back(date_json(date));
  out["mass_loss"] = nullptr;
  if (batch.mass_loss)
    out["mass_loss"] = {{"by_day", batch.mass_loss->by_day},
                        {"from", batch.mass_loss->from},
                        {"to", batch.mass_loss->to}};
  return out;
}

// The elements one after the other, joined by hand: one tree at a time, however many there are.
struct JsonList {
  std::string body = "[";
  void add(const std::string& element) {
    if (body.size() > 1) body += ',';
    body += element;
  }
  Answer answer() { return {200, kJson, std::move(body += "]\n"), "", {}, {}}; }
};

}  // namespace

std::string to_json(const BatchStanding& batch) {
  return standing_json(batch).dump(-1, ' ', false,
                                   nlohmann::ordered_json::error_handler_t::replace);
}

void for_every_batch(Site& site, const std::function<void(BatchStanding)>& each,
                     const std::function<void()>& done) {
  const auto ids = std::make_shared<const std::vector<std::string>>(site.door.batch_ids());
  const auto part = [ids](std::size_t from, std::size_t most) {
    const auto begin = ids->begin() + static_cast<std::ptrdiff_t>(std::min(from, ids->size()));
    const auto end = ids->begin() + static_cast<std::ptrdiff_t>(std::min(from + most, ids->size()));
    return std::vector<std::string>(begin, end);
  };
  in_slices(
      site.slices, kBatches, part,
      [&site, each](const std::string& id) {
        if (auto batch = site.door.batch(id)) each(std::move(*batch));
      },
      done);
}

void get_cabinets(Site& site, const Request&, const Visitor&, const Respond& respond) {
  const auto all = std::make_shared<std::map<std::string, std::string>>();  // by id
  const auto first_of_all = [all](std::size_t, std::size_t most) {
    std::vector<std::string> pictures;
    for (; pictures.size() < most && !all->empty(); all->erase(all->begin()))
      pictures.push_back(std::move(all->begin()->second));
    return pictures;
  };
  const auto join = [&site, first_of_all, respond] {
    const auto list = std::make_shared<JsonList>();
    in_slices(
        site.slices, kJoined, first_of_all,
        [list](const std::string& picture) { list->add(picture); },
        [list, respond] { respond(list->answer()); });
  };
  in_slices(
      site.slices, kPictures, site.door.views,
      [all](const CabinetView& cabinet) { all->emplace(cabinet.id, to_json(cabinet)); }, join);
}

void get_batches(Site& site, const Request& request, const Visitor&, const Respond& respond) {
  const auto list = std::make_shared<JsonList>();
  for_every_batch(
      site,
      [list, ended = request.path.ends_with("/all")](const BatchStanding& batch) {
        if (ended || !batch.record.ended_at) list->add(to_json(batch));
      },
      [list, respond] { respond(list->answer()); });
}

void get_metrics(Site& site, const Request& request, const Visitor&, const Respond& respond) {
  const MetricsForm form = metrics_form(request.header("Accept"));
  const auto all = std::make_shared<CabinetMetrics>(form);
  const auto part = [&site, all](std::size_t from, std::size_t most) {
    all->settle();
    return site.door.views(from, most);
  };
  in_slices(
      site.slices, kViews, part, [all](const CabinetView& cabinet) { all->add(cabinet); },
      [&site, all, form, respond] {
        respond({200,
                 media_type(form),
                 std::move(*all).finish(site.door.watch()),
                 "",
                 {{"Vary", "Accept"}},
                 {}});
      });
}

void get_calendar(Site& site, const Request&, const Visitor&, const Respond& respond) {
  const WatchView watch = site.door.watch();
  const auto all = std::make_shared<CalendarText>(watch.site, watch.zone, watch.now);
  for_every_batch(
      site,
      [all](const BatchStanding& batch) {
        if (!batch.record.ended_at) all->add(batch);
      },
      [all, respond] {
        respond({200, "text/calendar; charset=utf-8", std::move(*all).finish(), "", {}, {}});
      });
}

}  // namespace clutchward
