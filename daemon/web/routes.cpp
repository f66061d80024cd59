// The table of routes and the small functions behind it.
#include "web/routes.h"

#include <cmath>
#include <nlohmann/json.hpp>
#include <optional>

#include "base/text.h"
#include "web/calendar.h"
#include "web/handlers.h"
#include "web/html.h"
#include "web/metrics.h"
#include "web/page.h"
#include "web/site.h"
#include "web/watch_json.h"
#include "wire/picture_json.h"
#include "wire/record_json.h"

namespace clutchward {
namespace {

constexpr std::string_view kJson = "application/json";

void get_style(const WebDoor&, const Request&, const Respond& respond) {
  respond({200, "text/css; charset=utf-8", std::string(page_style()), "", {}, {}});
}

void get_script(const WebDoor&, const Request&, const Respond& respond) {
  respond({200, "text/javascript; charset=utf-8", std::string(page_script()), "", {}, {}});
}

// For a week: the version is in their name.
const std::pair<std::string, std::string> kKept = {"Cache-Control", "max-age=604800, immutable"};

void get_curve_script(const WebDoor&, const Request&, const Respond& respond) {
  respond({200, "text/javascript; charset=utf-8", std::string(kCurveScript), "", {}, {}});
}

void get_plot_script(const WebDoor&, const Request&, const Respond& respond) {
  respond({200, "text/javascript; charset=utf-8", std::string(kPlotScript), "", {kKept}, {}});
}

void get_plot_style(const WebDoor&, const Request&, const Respond& respond) {
  respond({200, "text/css; charset=utf-8", std::string(kPlotStyle), "", {kKept}, {}});
}

void get_icon(const WebDoor&, const Request&, const Respond& respond) {
  respond({200, "image/svg+xml", std::string(page_icon()), "", {}, {}});
}

void get_cabinets(const WebDoor& door, const Request&, const Respond& respond) {
  // Joined by hand: one cabinet's tree at a time, however many there are.
  std::string body = "[";
  for (const CabinetView& cabinet : door.cabinets()) {
    if (body.size() > 1) body += ',';
    body += to_json(cabinet);
  }
  respond({200, kJson, body + "]\n", "", {}, {}});
}

void get_cabinet(const WebDoor& door, const Request& request, const Respond& respond) {
  constexpr std::string_view kBefore = "/api/cabinets/";
  const std::string id = request.path.substr(kBefore.size());
  const auto cabinet = door.cabinet(id);
  if (!cabinet) return respond(sentence(404, "no cabinet \"" + printable(id, 64) + "\""));
  respond({200, kJson, to_json(*cabinet) + "\n", "", {}, {}});
}

void get_watch(const WebDoor& door, const Request&, const Respond& respond) {
  respond({200, kJson, to_json(door.watch()) + "\n", "", {}, {}});
}

void get_metrics(const WebDoor& door, const Request& request, const Respond& respond) {
  const MetricsForm form = metrics_form(request.header("Accept"));
  respond({200,
           media_type(form),
           metrics(door.watch(), door.cabinets(), form),
           "",
           {{"Vary", "Accept"}},
           {}});
}

// Who a route is for. What a visitor may do beyond looking, its handler finds out.
enum class For : std::uint8_t { lookers, everybody };

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
  respond({200, kJson, body + "]\n", "", {}, {}});
}

void get_batch(const WebDoor& door, const Request& request, const Respond& respond) {
  constexpr std::string_view kBefore = "/api/batch/";
  const std::string id = request.path.substr(kBefore.size());
  const auto batch = door.batch(id);
  if (!batch) return respond(sentence(404, "no batch \"" + printable(id, 64) + "\""));
  respond({200, kJson, dumped(standing_json(*batch)) + "\n", "", {}, {}});
}

void get_calendar(const WebDoor& door, const Request&, const Respond& respond) {
  const WatchView watch = door.watch();
  respond({200,
           "text/calendar; charset=utf-8",
           calendar(watch.site, watch.zone, door.batches(false), watch.now),
           "",
           {},
           {}});
}

struct Route {
  std::string_view method;
  std::string_view path;  // a '*' at its end stands for one more part, not empty
  bool control;           // served over the Unix socket
  bool network;           // served over the network
  void (*serve)(const WebDoor&, const Request&, const Respond&);
  // In place of `serve` where it matters who asks.
  void (*serve_visitor)(Site&, const Request&, const Visitor&, const Respond&) = nullptr;
  For who = For::lookers;
};

constexpr Route kRoutes[] = {
    {"GET", "/", true, true, nullptr, get_front},
    {"GET", "/cabinets/*", true, true, nullptr, get_cabinet_page},
    {"GET", "/batches", true, true, nullptr, get_batches_page},
    {"GET", "/batches/*", true, true, nullptr, get_batch_page},
    {"GET", "/cards/*", true, true, nullptr, get_card},
    {"GET", "/wakes", true, true, nullptr, get_wakes},
    {"GET", "/events", false, true, nullptr, get_events},
    {"POST", "/do", false, true, nullptr, post_deed, For::everybody},
    {"GET", "/login", false, true, nullptr, get_login, For::everybody},
    {"POST", "/login", false, true, nullptr, post_login, For::everybody},
    {"POST", "/logout", false, true, nullptr, post_logout, For::everybody},
    {"GET", "/a/*", false, true, nullptr, get_link, For::everybody},
    {"POST", "/a/*", false, true, nullptr, post_link, For::everybody},
    {"GET", "/style.css", true, true, get_style, nullptr, For::everybody},
    {"GET", "/page.js", true, true, get_script, nullptr, For::everybody},
    {"GET", "/icon.svg", true, true, get_icon, nullptr, For::everybody},
    {"GET", "/curve.js", true, true, get_curve_script, nullptr, For::everybody},
    // Named by its version, so that a phone keeps it.
    {"GET", "/uplot-1.6.32.js", true, true, get_plot_script, nullptr, For::everybody},
    {"GET", "/uplot-1.6.32.css", true, true, get_plot_style, nullptr, For::everybody},
    {"GET", "/api/history", true, true, nullptr, get_history},
    {"GET", "/api/rules/*", true, true, nullptr, get_rules},
    {"GET", "/api/cabinets", true, true, get_cabinets},
    {"GET", "/api/cabinets/*", true, true, get_cabinet},
    {"GET", "/api/watch", true, false, get_watch},
    {"GET", "/metrics", true, true, get_metrics},
    {"GET", "/api/batches", true, true, get_batches},
    {"GET", "/api/batches/all", true, true, get_batches},
    {"GET", "/api/batch/*", true, true, get_batch},
    {"GET", "/calendar.ics", true, true, get_calendar},
    {"POST", "/api/command", true, true, nullptr, post_command, For::everybody},
};

bool fits(std::string_view pattern, std::string_view path) {
  if (pattern.back() != '*') return pattern == path;
  const auto before = pattern.substr(0, pattern.size() - 1);
  return path.starts_with(before) && path.size() > before.size();
}

// A person is shown where to log in, a program is asked for its name.
Answer who_are_you(const Request& request) {
  if (!request.path.starts_with("/api/") && request.path != "/metrics" && request.path != "/events")
    return go_to("/login?to=" + in_address(request.path));
  Answer answer = sentence(401, "Who are you? Send name and passphrase, or log in.");
  answer.headers.emplace_back("WWW-Authenticate", "Basic realm=\"Clutchward\", charset=\"UTF-8\"");
  return answer;
}

void serve(Site& site, const Route& route, const Request& request, const Respond& respond) {
  if (request.method == "POST" && request.entrance == Entrance::network)
    if (auto refusal = site.gate.foreign(request)) return respond(std::move(*refusal));
  site.gate.find(
      request, site.door.now(),
      [&site, &route, request, respond](const Visitor& visitor) {
        if (route.who == For::lookers && !visitor.may_look()) return respond(who_are_you(request));
        if (route.serve_visitor != nullptr)
          return route.serve_visitor(site, request, visitor, respond);
        route.serve(site.door, request, respond);
      },
      respond);
}

}  // namespace

Answer sentence(unsigned status, std::string text) {
  return {status, "text/plain; charset=utf-8", std::move(text) + "\n", "", {}, {}};
}

void answer(Site& site, const Request& request, const Respond& respond) {
  std::string allow;
  for (const Route& route : kRoutes) {
    const bool open = request.entrance == Entrance::control ? route.control : route.network;
    if (!open || !fits(route.path, request.path)) continue;
    if (route.method == request.method) return serve(site, route, request, respond);
    allow +=
        (allow.empty() ? "" : ", ") + std::string(route.method == "GET" ? "GET, HEAD" : "POST");
  }
  if (allow.empty()) return respond(sentence(404, "There is nothing at this address."));
  Answer refused = sentence(
      405, "This address takes " + std::string(allow == "GET, HEAD" ? "GET" : allow) + " only.");
  refused.allow = allow;
  respond(std::move(refused));
}

}  // namespace clutchward
