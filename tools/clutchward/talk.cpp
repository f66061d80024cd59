// Talking to the daemon and telling what came of it.
#include "talk.h"

#include <pwd.h>
#include <sysexits.h>
#include <unistd.h>

#include <cctype>
#include <cstdlib>
#include <iostream>

#include "batch_words.h"
#include "notification/wording.h"
#include "picture_reader.h"
#include "screen.h"
#include "web/page_words.h"
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

// "Nobody is left to pass it on to."
std::string sentence(const std::string& why) {
  std::string text = tame(why);
  if (!text.empty()) text[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(text[0])));
  return text + (text.ends_with('.') ? "" : ".");
}

std::optional<WatchView> fetch_watch(const ControlClient& client) {
  const auto answer = client.get("/api/watch");
  if (!answer || answer->status != 200) return std::nullopt;
  auto watch = read_watch(answer->body);
  return watch ? std::optional(std::move(*watch)) : std::nullopt;
}

std::string and_joined(const std::vector<std::string>& words) {
  std::string text;
  for (std::size_t i = 0; i < words.size(); ++i)
    text += (i == 0 ? "" : i + 1 == words.size() ? " and " : ", ") + words[i];
  return text;
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

NowTrue of_cabinet(const std::string& id) {
  return [id](const ControlClient& client) -> std::string {
    const auto watch = fetch_watch(client);
    const auto cabinet = client.get("/api/cabinets/" + path_part(id));
    if (!watch || !cabinet || cabinet->status != 200) return {};
    const auto view = read_cabinet(cabinet->body);
    return view ? cabinet_lines(*watch, *view) : "";
  };
}

NowTrue of_batches(const std::vector<std::string>& ids) {
  return [ids](const ControlClient& client) -> std::string {
    const auto watch = fetch_watch(client);
    const auto batches = client.get("/api/batches/all");
    if (!watch || !batches || batches->status != 200) return {};
    const auto all = nlohmann::ordered_json::parse(batches->body, nullptr, false);
    std::string text;
    for (const auto& batch : all)
      for (const std::string& id : ids)
        if (batch.is_object() && text_in(batch, "batch") == id)
          text += BatchWords(*watch).now_true(batch);
    return text;
  };
}

NowTrue of_site(const std::string& alarm) {
  return [alarm](const ControlClient& client) -> std::string {
    const auto watch = fetch_watch(client);
    if (!watch) return {};
    const PageWords words(*watch);
    std::string text;
    for (const AlarmView& each : watch->alarms)
      if (each.key.alarm == alarm)
        text += tame(words.fault(each) + " (" + alarm +
                     "): " + (each.active ? words.who(each) : words.since(each))) +
                "\n";
    return text.empty() ? tame(alarm) + ": no alarm\n" : text;
  };
}

NowTrue of_test(const std::string& contact) {
  return [contact](const ControlClient& client) -> std::string {
    const auto watch = fetch_watch(client);
    if (!watch) return {};
    std::map<std::string, std::vector<std::string>> ways;
    for (const ChannelWatch& channel : watch->channels)
      if (contact.empty() || channel.contact == contact)
        ways[channel.contact].push_back(channel.kind);
    std::string text;
    for (const auto& [who, by] : ways)
      text += "A test message goes to " + tame(person(who)) + " by " + tame(and_joined(by)) + "\n";
    return text;
  };
}

int carry_out(const ControlClient& client, Command command, const TalkOptions& options,
              const NowTrue& now_true) {
  command.by = asker(options.by);
  const auto reply = client.command(std::move(command));
  if (!reply) return complain(reply.why(), EX_UNAVAILABLE);
  if (options.json) std::cout << to_json(*reply) << '\n';
  if (!reply->ok) return complain(reply->why, EX_DATAERR);
  if (options.json) return EX_OK;
  if (!reply->why.empty()) std::cout << sentence(reply->why) << '\n';
  // Failing to show what is now true does not undo what was done.
  const std::string now = now_true(client);
  std::cout << (now.empty() ? "Done.\n" : now);
  return EX_OK;
}

int complain(const std::string& why, int code) {
  std::cerr << "clutchward: " << tame(why) << '\n';
  return code;
}

}  // namespace clutchward
