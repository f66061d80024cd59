// Written for devices with little memory: what they need stands on the top level.
#include "wire/ring_json.h"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <set>

#include "base/limits.h"
#include "base/text.h"

namespace clutchward {
namespace {

using Json = nlohmann::ordered_json;

Json text(const std::string& value) { return value.empty() ? Json() : Json(value); }

void add_calls(Json& out, const std::vector<RingCall>& calls) {
  out["contacts"] = Json::array();
  std::set<std::string> contacts;
  for (const RingCall& call : calls)
    if (contacts.insert(call.contact).second) out["contacts"].push_back(call.contact);
  out["first_line"] = calls.front().first_line;
  out["since"] = to_rfc3339(calls.front().since);
}

void add_alarms(Json& out, const std::vector<RingCall>& calls) {
  out["alarms"] = Json::array();
  std::set<AlarmKey> named;
  for (const RingCall& call : calls) {
    if (call.episode.empty() || !named.insert(call.key).second) continue;
    if (named.size() > RingPicture::kAlarms) continue;
    out["alarms"].push_back({{"cabinet", text(call.key.cabinet)},
                             {"batch", text(call.key.batch)},
                             {"alarm", call.key.alarm},
                             {"episode", call.episode}});
  }
  out["more"] = named.size() - std::min(named.size(), RingPicture::kAlarms);
}

}  // namespace

std::string to_json(const RingPicture& picture) {
  Json out;
  out["at"] = to_rfc3339(picture.at);
  out["beat"] = std::chrono::duration_cast<std::chrono::seconds>(RingPicture::kBeat).count();
  out["ring"] = !picture.calls.empty();
  if (!picture.calls.empty()) {
    const auto most = std::max_element(
        picture.calls.begin(), picture.calls.end(),
        [](const RingCall& a, const RingCall& b) { return a.urgency < b.urgency; });
    out["urgency"] = name_of(most->urgency);
    out["id"] = text(picture.id);
    add_calls(out, picture.calls);
    out["confirmed_at"] = picture.confirmed_at ? Json(to_rfc3339(*picture.confirmed_at)) : Json();
    out["confirmed_by"] = text(picture.confirmed_by);
    add_alarms(out, picture.calls);
  }
  return out.dump(-1, ' ', false, Json::error_handler_t::replace);
}

Result<RingConfirmation> parse_confirmation(std::string_view payload) {
  RingConfirmation confirmation;
  if (payload.empty()) return confirmation;
  if (payload.size() > limits::kCommandBytes)
    return Refusal{"it has " + std::to_string(payload.size()) + " bytes; expected at most " +
                   std::to_string(limits::kCommandBytes)};
  const Json json = Json::parse(payload, nullptr, /*allow_exceptions=*/false);
  if (!json.is_object())
    return Refusal{"it is " + printable(payload, 60) +
                   "; expected nothing, or an object such as {\"id\":\"...\",\"by\":\"bedside\"}"};
  for (const auto& [key, value] : json.items()) {
    if ((key != "id" && key != "by") || value.is_null()) continue;
    if (!value.is_string()) return Refusal{"its " + key + " is no text"};
    (key == "id" ? confirmation.id : confirmation.by) =
        printable(value.get_ref<const std::string&>());
  }
  return confirmation;
}

}  // namespace clutchward
