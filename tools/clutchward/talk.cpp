// Talking to the daemon and telling what came of it.
#include "talk.h"

#include <pwd.h>
#include <sysexits.h>
#include <unistd.h>

#include <cstdlib>
#include <iostream>

#include "picture_reader.h"
#include "screen.h"
#include "wire/command_json.h"

namespace clutchward {
namespace {

std::string asker(const std::string& given) {
  if (!given.empty()) return given;
  const char* user = std::getenv("USER");
  if (user != nullptr && *user != '\0') return user;
  const passwd* entry = ::getpwuid(::getuid());
  return entry != nullptr ? entry->pw_name : "";
}

// Failing to show what is now true does not undo what was done: it is said and passed over.
void show_cabinet(const ControlClient& client, const std::string& id) {
  const auto cabinet = client.get("/api/cabinets/" + path_part(id));
  const auto watch = client.get("/api/watch");
  if (!cabinet || !watch || cabinet->status != 200 || watch->status != 200) {
    std::cout << "Done.\n";
    return;
  }
  const auto view = read_cabinet(cabinet->body);
  const auto watch_view = read_watch(watch->body);
  std::cout << (view && watch_view ? cabinet_lines(*watch_view, *view) : "Done.\n");
}

}  // namespace

void add_talk(CLI::App& verb, TalkOptions& options, bool commands) {
  verb.add_option("--state", options.state,
                  "the daemon's state folder ($CLUTCHWARD_STATE, /var/lib/clutchward)");
  verb.add_flag("--json", options.json, "print JSON for programs");
  if (commands) verb.add_option("--by", options.by, "who asks; you, where left out");
}

Result<std::vector<CabinetView>> fetch_cabinets(const ControlClient& client) {
  const auto answer = client.get("/api/cabinets");
  if (!answer) return Refusal{answer.why()};
  if (answer->status != 200)
    return Refusal{"the daemon answered " + std::to_string(answer->status) + ": " + answer->body};
  return read_cabinets(answer->body);
}

int carry_out(const ControlClient& client, Command command, const TalkOptions& options,
              const std::string& cabinet) {
  command.by = asker(options.by);
  const auto reply = client.command(std::move(command));
  if (!reply) return complain(reply.why(), EX_UNAVAILABLE);
  if (options.json) std::cout << to_json(*reply) << '\n';
  if (!reply->ok) return complain(reply->why, EX_DATAERR);
  if (options.json) return EX_OK;
  if (cabinet.empty())
    std::cout << "Done.\n";
  else
    show_cabinet(client, cabinet);
  return EX_OK;
}

int complain(const std::string& why, int code) {
  std::cerr << "clutchward: " << tame(why) << '\n';
  return code;
}

}  // namespace clutchward
