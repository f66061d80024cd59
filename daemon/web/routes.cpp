// The table of routes and the small functions behind it.
#include "web/routes.h"

#include <cmath>
#include <nlohmann/json.hpp>
#include <optional>

#include "base/text.h"
#include "web/calendar.h"
#include "web/metrics.h"
#include "web/page.h"
#include "web/watch_json.h"
#include "wire/command_json.h"
#include "wire/picture_json.h"
#include "wire/record_json.h"

namespace clutchward {
namespace {

constexpr std::string_view kJson = "application/json";

void get_page(const WebDoor& door, const Request&, const Respond& respond) {
  respond({200, "text/html; charset=utf-8", page_html(door.watch(), door.cabinets()), ""});
}

void get_style(const WebDoor&, const Request&, const Respond& respond) {
  respond({200, "text/css; charset=utf-8", std::string(page_style()), ""});
}

void get_cabinets(const WebDoor& door, const Request&, const Respond& respond) {
  // Joined by hand: one cabinet's tree at a time, however many there are.
  std::string body = "[";
  for (const CabinetView& cabinet : door.cabinets()) {
    if (body.size() > 1) body += ',';
    body += to_json(cabinet);
  }
  respond({200, kJson, body + "]\n", ""});
}

void get_cabinet(const WebDoor& door, const Request& request, const Respond& respond) {
  constexpr std::string_view kBefore = "/api/cabinets/";
  const std::string id = request.path.substr(kBefore.size());
  const auto cabinet = door.cabinet(id);
  if (!cabinet) return respond(sentence(404, "no cabinet \"" + printable(id, 64) + "\""));
  respond({200, kJson, to_json(*cabinet) + "\n", ""});
}

void get_watch(const WebDoor& door, const Request&, const Respond& respond) {
  respond({200, kJson, to_json(door.watch()) + "\n", ""});
}

void get_metrics(const WebDoor& door, const Request&, const Respond& respond) {
  respond({200, "application/openmetrics-text; version=1.0.0; charset=utf-8",
           open_metrics(door.watch(), door.cabinets()), ""});
}

void post_command(const WebDoor& door, const Request& request, const Respond& respond) {
  auto command = parse_command(request.body);
  if (!command)
    return respond(
        {400, kJson, to_json(Reply{id_of_refused(request.body), false, command.why()}) + "\n", ""});
  door.command(std::move(*command), [respond](const Reply& reply) {
    respond({reply.ok ? 200U : 409U, kJson, to_json(reply) + "\n", ""});
  });
}

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

std::string dumped(const nlohmann::ordered_json& json) {
  return json.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace);
}

// Running batches and planned ones; `/api/batches/all` the ended ones as well.
void get_batches(const WebDoor& door, const Request& request, const Respond& respond) {
  std::string body = "[";
  for (const BatchStanding& batch : door.batches(request.path.ends_with("/all"))) {
    if (body.size() > 1) body += ',';
    body += dumped(standing_json(batch));
  }
  respond({200, kJson, body + "]\n", ""});
}

void get_batch(const WebDoor& door, const Request& request, const Respond& respond) {
  constexpr std::string_view kBefore = "/api/batch/";
  const std::string id = request.path.substr(kBefore.size());
  const auto batch = door.batch(id);
  if (!batch) return respond(sentence(404, "no batch \"" + printable(id, 64) + "\""));
  respond({200, kJson, dumped(standing_json(*batch)) + "\n", ""});
}

void get_calendar(const WebDoor& door, const Request&, const Respond& respond) {
  const WatchView watch = door.watch();
  respond({200, "text/calendar; charset=utf-8",
           calendar(watch.site, watch.zone, door.batches(false), watch.now), ""});
}

struct Route {
  std::string_view method;
  std::string_view path;  // a '*' at its end stands for one more part, not empty
  bool control;           // served over the Unix socket
  bool network;           // served over the network
  void (*serve)(const WebDoor&, const Request&, const Respond&);
};

constexpr Route kRoutes[] = {
    {"GET", "/", true, true, get_page},
    {"GET", "/style.css", true, true, get_style},
    {"GET", "/api/cabinets", true, true, get_cabinets},
    {"GET", "/api/cabinets/*", true, true, get_cabinet},
    {"GET", "/api/watch", true, false, get_watch},
    {"GET", "/metrics", true, true, get_metrics},
    {"POST", "/api/command", true, false, post_command},
    {"GET", "/api/batches", true, true, get_batches},
    {"GET", "/api/batches/all", true, true, get_batches},
    {"GET", "/api/batch/*", true, true, get_batch},
    {"GET", "/calendar.ics", true, true, get_calendar},
};

bool fits(std::string_view pattern, std::string_view path) {
  if (pattern.back() != '*') return pattern == path;
  const auto before = pattern.substr(0, pattern.size() - 1);
  return path.starts_with(before) && path.size() > before.size();
}

constexpr const char* kNoCommandsHere =
    "Commands over the network need settings that say who may give them, and those do not exist "
    "yet. Use MQTT or the keeper's command (clutchward) on the machine itself.";

}  // namespace

Answer sentence(unsigned status, std::string text) {
  return {status, "text/plain; charset=utf-8", std::move(text) + "\n", ""};
}

void answer(const WebDoor& door, const Request& request, Respond respond) {
  const Route* found = nullptr;
  bool reads = false;
  for (const Route& route : kRoutes) {
    if (!fits(route.path, request.path)) continue;
    found = &route;
    if (route.method != request.method) continue;
    const bool open = request.entrance == Entrance::control ? route.control : route.network;
    if (open) return route.serve(door, request, respond);
    if (route.method == "POST") return respond(sentence(403, kNoCommandsHere));
    found = nullptr;
  }
  if (found == nullptr) return respond(sentence(404, "There is nothing at this address."));
  reads = found->method == "GET";
  Answer refused =
      sentence(405, std::string("This address takes ") + (reads ? "GET" : "POST") + " only.");
  refused.allow = reads ? "GET, HEAD" : "POST";
  respond(std::move(refused));
}

}  // namespace clutchward
