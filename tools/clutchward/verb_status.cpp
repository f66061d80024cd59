// `clutchward status`: one screen, or the daemon's JSON as it is.
#include <sysexits.h>
#include <unistd.h>

#include <iostream>
#include <nlohmann/json.hpp>

#include "picture_reader.h"
#include "screen.h"
#include "talk.h"
#include "verb.h"

namespace clutchward {
namespace {

int run_status(const TalkOptions& options) {
  const ControlClient client(state_directory(options.state));
  const auto watch = client.get("/api/watch");
  if (!watch) return complain(watch.why(), EX_UNAVAILABLE);
  const auto cabinets = client.get("/api/cabinets");
  if (!cabinets) return complain(cabinets.why(), EX_UNAVAILABLE);
  const auto watch_view = read_watch(watch->body);
  const auto views = read_cabinets(cabinets->body);
  if (!watch_view) return complain(watch_view.why(), EX_PROTOCOL);
  if (!views) return complain(views.why(), EX_PROTOCOL);
  if (options.json) {
    nlohmann::ordered_json out;
    out["watch"] = nlohmann::ordered_json::parse(watch->body);
    out["cabinets"] = nlohmann::ordered_json::parse(cabinets->body);
    std::cout << out.dump() << '\n';
  } else {
    std::cout << status_screen(*watch_view, *views, colour_for(STDOUT_FILENO));
  }
  return EX_OK;
}

}  // namespace

void add_status(CLI::App& app, Run& run) {
  auto* verb = app.add_subcommand("status", "Shows every cabinet, the worst first, and the watch");
  auto options = std::make_shared<TalkOptions>();
  add_talk(*verb, *options, false);
  verb->callback([&run, options] { run = [options] { return run_status(*options); }; });
}

}  // namespace clutchward
