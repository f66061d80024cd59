// The table of routes and the small functions behind it.
#include "web/routes.h"

#include <optional>

#include "base/text.h"
#include "web/handlers.h"
#include "web/html.h"
#include "web/long_answers.h"
#include "web/page.h"
#include "web/site.h"
#include "web/watch_json.h"
#include "wire/picture_json.h"

namespace clutchward {
namespace {

constexpr std::string_view kJson = "application/json";

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

// Who a route is for. What a visitor may do beyond looking, its handler finds out.
enum class For : std::uint8_t { lookers, everybody };

void get_batch(const WebDoor& door, const Request& request, const Respond& respond) {
  constexpr std::string_view kBefore = "/api/batch/";
  const std::string id = request.path.substr(kBefore.size());
  const auto batch = door.batch(id);
  if (!batch) return respond(sentence(404, "no batch \"" + printable(id, 64) + "\""));
  respond({200, kJson, to_json(*batch) + "\n", "", {}, {}});
}

// For who reads the file itself: it is then as new as this answer.
void post_commit(const WebDoor& door, const Request&, const Respond& respond) {
  if (!door.commit) return respond(sentence(404, "no history is kept"));
  door.commit([respond](const std::string& trouble) {
    respond(trouble.empty() ? Answer{200, kJson, "{\"ok\":true}\n", "", {}, {}}
                            : sentence(503, trouble));
  });
}

struct Route {
  std::string_view method;
  std::string_view path;  // a '*' stands for one part, not empty
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
    {"GET", "/style.css", true, true, nullptr, get_asset, For::everybody},
    {"GET", "/page.js", true, true, nullptr, get_asset, For::everybody},
    {"GET", "/icon.svg", true, true, nullptr, get_asset, For::everybody},
    {"GET", "/curve.js", true, true, nullptr, get_asset, For::everybody},
    {"GET", "/uplot-1.6.32.js", true, true, nullptr, get_asset, For::everybody},
    {"GET", "/uplot-1.6.32.css", true, true, nullptr, get_asset, For::everybody},
    {"GET", "/api/history", true, true, nullptr, get_history},
    {"POST", "/api/history/commit", true, false, post_commit},
    {"GET", "/api/rules/*", true, true, nullptr, get_rules},
    {"GET", "/api/cabinets", true, true, nullptr, get_cabinets},
    {"GET", "/api/cabinets/*", true, true, get_cabinet},
    {"GET", "/api/watch", true, false, get_watch},
    {"GET", "/metrics", true, true, nullptr, get_metrics},
    {"GET", "/api/batches", true, true, nullptr, get_batches},
    {"GET", "/api/batches/all", true, true, nullptr, get_batches},
    {"GET", "/api/batch/*", true, true, get_batch},
    {"GET", "/calendar.ics", true, true, nullptr, get_calendar},
    {"GET", "/batches/*/report", true, true, nullptr, get_report},
    {"GET", "/batches/*/report.json", true, true, nullptr, get_report_json},
    {"GET", "/batches/*/report.csv", true, true, nullptr, get_report_csv},
    {"GET", "/compare", true, true, nullptr, get_compare},
    {"GET", "/api/compare", true, true, nullptr, get_compare_json},
    {"GET", "/history", true, true, nullptr, get_happened},
    {"GET", "/api/events", true, true, nullptr, get_past_events},
    {"POST", "/api/command", true, true, nullptr, post_command, For::everybody},
};

bool fits(std::string_view pattern, std::string_view path) {
  const auto star = pattern.find('*');
  if (star == std::string_view::npos) return pattern == path;
  const auto after = pattern.substr(star + 1);
  if (!path.starts_with(pattern.substr(0, star)) || !path.ends_with(after) ||
      path.size() <= star + after.size())
    return false;
  return path.substr(star, path.size() - star - after.size()).find('/') == std::string_view::npos;
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
  if (allow.empty()) return respond(nothing_here(request, site));
  Answer refused = sentence(
      405, "This address takes " + std::string(allow == "GET, HEAD" ? "GET" : allow) + " only.");
  refused.allow = allow;
  respond(std::move(refused));
}

}  // namespace clutchward
