// Reading and writing commands. Strict: a key that is spelled wrong must not become a default.
#include "wire/command_json.h"

#include <algorithm>
#include <functional>
#include <map>
#include <nlohmann/json.hpp>
#include <set>

#include "base/limits.h"
#include "base/text.h"
#include "wire/record_json.h"

namespace clutchward {
namespace {

using nlohmann::json;

constexpr std::size_t kIdBytes = 128;

bool usable_id(const std::string& id) {
  return !id.empty() && id.size() <= kIdBytes && valid_utf8(id) &&
         std::none_of(id.begin(), id.end(), [](unsigned char c) {
           return c < 0x20 || c == 0x7f || c == '+' || c == '#' || c == '/';
         });
}

std::string found(const json& value) {
  if (value.is_string()) return "\"" + printable(value.get<std::string>(), 60) + "\"";
  return printable(value.dump(), 60);
}

std::string near_hint(const std::string& word, const std::vector<std::string>& known) {
  const std::string near = nearest_word(word, known);
  return near.empty() ? "" : "; did you mean \"" + near + "\"?";
}

// One key: takes the value, or says what was expected.
using Take = std::function<std::string(Command&, const json&)>;

Take text_into(std::string Command::*member) {
  return [member](Command& command, const json& value) -> std::string {
    if (!value.is_string() && !value.is_null()) return "a text";
    if (value.is_string()) command.*member = value.get<std::string>();
    return {};
  };
}

Take time_into(std::optional<Wall> Command::*member) {
  return [member](Command& command, const json& value) -> std::string {
    const auto time = value.is_string() ? parse_rfc3339(value.get<std::string>()) : std::nullopt;
    if (!time) return "a time such as \"2026-03-01T08:00:00Z\"";
    command.*member = *time;
    return {};
  };
}

std::string take_minutes(Command& command, const json& value) {
  if (!value.is_number()) return "a number of minutes";
  command.minutes = value.get<double>();
  return {};
}

Take number_into(std::optional<double> Command::*member, const char* what) {
  return [member, what](Command& command, const json& value) -> std::string {
    if (!value.is_number()) return what;
    command.*member = value.get<double>();
    return {};
  };
}

std::string take_sure(Command& command, const json& value) {
  if (!value.is_boolean()) return "true or false";
  command.sure = value.get<bool>();
  return {};
}

// `removed` at a candling and `outcome` at the end mean the same: which eggs, and why.
std::string take_fates(Command& command, const json& value) {
  const auto fates = read_fates(value);
  if (!fates) return fates.why();
  command.eggs_by_fate = *fates;
  return {};
}

std::string take_eggs(Command& command, const json& value) {
  if (!value.is_number_integer() || value < 0 || value > 10'000'000) return "a whole number";
  command.eggs = value.get<int>();
  return {};
}

std::string take_deed(Command& command, const json& value) {
  const auto word = value.is_string() ? value.get<std::string>() : std::string();
  const auto at = std::find(kDeedNames.begin(), kDeedNames.end(), word);
  if (at == kDeedNames.end()) {
    std::string list;
    for (const auto name : kDeedNames) list += (list.empty() ? "" : ", ") + std::string(name);
    return "one of " + list +
           near_hint(word, std::vector<std::string>(kDeedNames.begin(), kDeedNames.end()));
  }
  command.deed = static_cast<Deed>(at - kDeedNames.begin());
  return {};
}

const std::map<std::string, Take>& keys() {
  static const std::map<std::string, Take> all = {
      {"id", text_into(&Command::id)},
      {"by", text_into(&Command::by)},
      {"do", take_deed},
      {"cabinet", text_into(&Command::cabinet)},
      {"batch", text_into(&Command::batch)},
      {"alarm", text_into(&Command::alarm)},
      {"episode", text_into(&Command::episode)},
      {"minutes", take_minutes},
      {"until", time_into(&Command::until)},
      {"reason", text_into(&Command::reason)},
      {"profile", text_into(&Command::profile)},
      {"set_at", time_into(&Command::set_at)},
      {"eggs", take_eggs},
      {"to", text_into(&Command::to)},
      {"contact", text_into(&Command::contact)},
      {"at", time_into(&Command::at)},
      {"removed", take_fates},
      {"outcome", take_fates},
      {"note", text_into(&Command::note)},
      {"grams", number_into(&Command::grams, "a number of grams")},
      {"sure", take_sure},
      {"stored_days", number_into(&Command::stored_days, "a number of days")},
      {"new_batch", text_into(&Command::new_batch)},
  };
  return all;
}

json parsed(std::string_view text) {
  return json::parse(text.begin(), text.end(), nullptr, /*allow_exceptions=*/false);
}

// The parser keeps the last of two equal keys; a command must not be read two ways.
bool has_twice(std::string_view text) {
  bool twice = false;
  std::set<std::string> seen;
  const auto watch = [&](int depth, json::parse_event_t event, json& value) {
    if (event == json::parse_event_t::key && depth == 1)
      twice = twice || !seen.insert(value.get<std::string>()).second;
    return true;
  };
  const json unused = json::parse(text.begin(), text.end(), watch, false);
  return twice && !unused.is_discarded();
}

}  // namespace

Result<Command> parse_command(std::string_view text) {
  if (text.size() > limits::kCommandBytes)
    return Refusal{"the command has " + std::to_string(text.size()) + " bytes; expected at most " +
                   std::to_string(limits::kCommandBytes)};
  const json object = text.find('\0') == text.npos ? parsed(text) : json(json::value_t::discarded);
  if (object.is_discarded() || !object.is_object())
    return Refusal{"not a JSON object: " + printable(text, 60)};
  if (has_twice(text)) return Refusal{"a key stands twice in the command"};
  std::vector<std::string> known;
  for (const auto& [key, unused] : keys()) known.push_back(key);
  Command command;
  for (const auto& [key, value] : object.items()) {
    const auto take = keys().find(key);
    if (take == keys().end())
      return Refusal{"unknown key \"" + printable(key, 40) + "\"" + near_hint(key, known)};
    const std::string expected = take->second(command, value);
    if (!expected.empty()) return Refusal{key + " is " + found(value) + "; expected " + expected};
  }
  if (object.contains("removed") && object.contains("outcome"))
    return Refusal{"removed belongs to candled and outcome to batch_end; expected one of them"};
  if (!object.contains("do")) return Refusal{"do is missing: what is to be done?"};
  if (!command.id.empty() && !usable_id(command.id))
    return Refusal{"id is " + found(object["id"]) +
                   "; expected at most 128 bytes without '/', '+', '#'"};
  for (const std::string* each : {&command.by, &command.reason, &command.contact, &command.note})
    if (each->size() > 200 || printable(*each, 400) != *each)
      return Refusal{
          "by, reason, contact and note take at most 200 bytes of plain text without quotes; "
          "found " +
          printable(*each, 60)};
  return command;
}

std::string id_of_refused(std::string_view text) {
  const json object = parsed(text);
  if (!object.is_object() || !object.contains("id") || !object["id"].is_string()) return {};
  const auto id = object["id"].get<std::string>();
  return usable_id(id) ? id : std::string();
}

std::string to_json(const Command& command) {
  nlohmann::ordered_json out;
  const auto text = [&](const char* key, const std::string& value) {
    if (!value.empty()) out[key] = value;
  };
  text("id", command.id);
  text("by", command.by);
  out["do"] = name_of(command.deed);
  text("cabinet", command.cabinet);
  text("batch", command.batch);
  text("alarm", command.alarm);
  text("episode", command.episode);
  if (command.minutes) out["minutes"] = *command.minutes;
  if (command.until) out["until"] = to_rfc3339(*command.until);
  text("reason", command.reason);
  text("profile", command.profile);
  if (command.set_at) out["set_at"] = to_rfc3339(*command.set_at);
  if (command.eggs) out["eggs"] = *command.eggs;
  text("to", command.to);
  text("contact", command.contact);
  if (command.at) out["at"] = to_rfc3339(*command.at);
  if (!command.eggs_by_fate.empty())
    out[command.deed == Deed::candled ? "removed" : "outcome"] = fates_json(command.eggs_by_fate);
  text("note", command.note);
  if (command.grams) out["grams"] = *command.grams;
  if (command.sure) out["sure"] = true;
  if (command.stored_days) out["stored_days"] = *command.stored_days;
  text("new_batch", command.new_batch);
  return out.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace);
}

std::string to_json(const Reply& reply) {
  nlohmann::ordered_json out;
  out["id"] = reply.id;
  out["ok"] = reply.ok;
  if (!reply.ok || !reply.why.empty()) out["why"] = reply.why;
  return out.dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace);
}

}  // namespace clutchward
