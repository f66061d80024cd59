// Bodies of webhooks. Values are escaped by the content type of what they are put into; a template
// that asks for the raw value ({{{message}}}) is its author's own word and gets it.
#include "channel/webhook_body.h"

#include <algorithm>
#include <kainjow/mustache.hpp>
#include <nlohmann/json.hpp>

#include "base/text.h"
#include "wire/event_json.h"

namespace clutchward {
namespace {

using Json = nlohmann::ordered_json;
constexpr auto kReplace = Json::error_handler_t::replace;

constexpr std::string_view kUnreserved =
    "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-._~";

std::string percent_encoded(std::string_view text) {
  constexpr std::string_view kHex = "0123456789ABCDEF";
  std::string encoded;
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (kUnreserved.find(c) != std::string_view::npos) {
      encoded += c;
    } else {
      encoded += '%';
      encoded += kHex[byte >> 4];
      encoded += kHex[byte & 15];
    }
  }
  return encoded;
}

std::string escaped_for_json(const std::string& text) {
  const std::string quoted = Json(text).dump(-1, ' ', false, kReplace);
  return quoted.substr(1, quoted.size() - 2);
}

std::string subject_of(const AlarmKey& key) {
  std::string subject;
  for (const std::string* part : {&key.cabinet, &key.batch, &key.alarm}) {
    if (part->empty()) continue;
    if (!subject.empty()) subject += '/';
    subject += *part;
  }
  return subject;
}

// The last event of the alarm that the first line speaks of; where it has none, the last of all.
std::string_view event_word(const Notification& message) {
  const AlarmEvent* found = nullptr;
  for (const AlarmEvent& event : message.events)
    if (event.key == message.subject) found = &event;
  if (found == nullptr && !message.events.empty()) found = &message.events.back();
  return found == nullptr ? std::string_view() : name_of(found->kind);
}

}  // namespace

std::string cloud_event(const Notification& message, const std::string& site) {
  Json json = Json::object();
  json["specversion"] = "1.0";
  json["id"] = message.id;
  json["source"] = "/clutchward/" + percent_encoded(site);
  json["type"] = message.subject.alarm.empty() ? "clutchward.message.v1" : "clutchward.alarm.v1";
  if (const std::string subject = subject_of(message.subject); !subject.empty())
    json["subject"] = subject;
  json["time"] = to_rfc3339(message.made_at);
  json["datacontenttype"] = "application/json";
  Json& data = json["data"] = Json::object();
  data["first_line"] = message.first_line;
  data["message"] = message.message;
  data["urgency"] = name_of(message.urgency);
  data["episode"] = message.episode;
  data["events"] = Json::array();
  for (const AlarmEvent& event : message.events) data["events"].push_back(event_json(event));
  if (!message.links.acknowledge.empty())
    data["links"] = {{"acknowledge", message.links.acknowledge},
                     {"snooze", message.links.snooze},
                     {"pass_on", message.links.pass_on}};
  return json.dump(-1, ' ', false, kReplace);
}

Escape escape_for(std::string_view content_type) {
  std::string type(content_type.substr(0, content_type.find(';')));
  std::transform(type.begin(), type.end(), type.begin(),
                 [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c; });
  while (!type.empty() && type.back() == ' ') type.pop_back();
  if (type == "application/json" || type.ends_with("+json")) return Escape::json;
  if (type == "application/x-www-form-urlencoded") return Escape::form;
  return Escape::none;
}

Result<std::string> fill_template(const std::string& pattern, const Notification& message,
                                  const std::string& site, Escape escape) {
  const std::pair<const char*, std::string> values[] = {
      {"first_line", message.first_line},
      {"message", message.message},
      {"urgency", std::string(name_of(message.urgency))},
      {"episode", message.episode},
      {"contact", message.contact},
      {"id", message.id},
      {"site", site},
      {"cabinet", message.subject.cabinet},
      {"batch", message.subject.batch},
      {"alarm", message.subject.alarm},
      {"event", std::string(event_word(message))},
      {"acknowledge", message.links.acknowledge},
      {"snooze", message.links.snooze},
      {"pass_on", message.links.pass_on},
  };
  try {
    kainjow::mustache::mustache mustache(pattern);
    if (!mustache.is_valid()) return Refusal{printable(mustache.error_message())};
    mustache.set_custom_escape([escape](const std::string& text) {
      switch (escape) {
        case Escape::json:
          return escaped_for_json(text);
        case Escape::form:
          return percent_encoded(text);
        case Escape::none:
          break;
      }
      return text;
    });
    kainjow::mustache::data data;
    for (const auto& [name, value] : values) {
      if (value.empty()) {
        data.set(name, kainjow::mustache::data::type::bool_false);
      } else {
        data.set(name, value);
      }
    }
    std::string text = mustache.render(data);
    if (!mustache.is_valid()) return Refusal{printable(mustache.error_message())};
    return text;
  } catch (const std::exception& error) {
    return Refusal{printable(error.what())};
  }
}

bool fit_for_header(std::string_view text) {
  return std::none_of(text.begin(), text.end(), [](char c) {
    const auto byte = static_cast<unsigned char>(c);
    return (byte < 0x20 && c != '\t') || byte == 0x7f;
  });
}

}  // namespace clutchward
