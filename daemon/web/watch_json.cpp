// The watch as JSON, written only.
#include "web/watch_json.h"

#include "wire/picture_json.h"

namespace clutchward {
namespace {

using Json = nlohmann::ordered_json;

Json time(std::optional<Wall> value) { return value ? Json(to_rfc3339(*value)) : Json(); }
Json text(const std::string& value) { return value.empty() ? Json() : Json(value); }
double seconds(Span span) { return static_cast<double>(span.count()) / 1000; }

Json channel_json(const ChannelWatch& channel) {
  Json out;
  out["contact"] = channel.contact;
  out["kind"] = channel.kind;
  out["delivered"] = channel.delivered;
  out["failed"] = channel.failed;
  out["waiting"] = channel.waiting;
  out["last_delivered"] = time(channel.last_delivered);
  out["trouble"] = text(channel.trouble);
  return out;
}

Json intake_json(const IntakeCounts& intake) {
  Json out;
  out["accepted"] = intake.accepted;
  out["rejected"] = Json::object();
  for (const auto& [reason, count] : intake.rejected) out["rejected"][std::string(reason)] = count;
  out["turned_away"] = intake.turned_away;
  out["last_rejected"] = text(intake.last_rejected);
  return out;
}

}  // namespace

Json watch_json(const WatchView& watch) {
  Json out;
  out["version"] = watch.version;
  out["site"] = watch.site;
  out["timezone"] = watch.zone.name();
  out["show"] = watch.show == Show::fahrenheit ? "fahrenheit" : "celsius";
  out["now"] = to_rfc3339(watch.now);
  out["clock_trusted"] = watch.clock_trusted;
  out["uptime"] = seconds(watch.uptime);
  out["broker"] = {{"linked", watch.broker_linked},
                   {"since", time(watch.broker_since)},
                   {"trouble", text(watch.broker_trouble)}};
  out["store"] = {{"writable", watch.store_writable}, {"trouble", text(watch.store_trouble)}};
  out["waiting_messages"] = watch.waiting_messages;
  out["channels"] = Json::array();
  for (const ChannelWatch& channel : watch.channels)
    out["channels"].push_back(channel_json(channel));
  out["intake"] = intake_json(watch.intake);
  out["faults"] = Json::array();
  for (const WatchFault& fault : watch.faults)
    out["faults"].push_back({{"what", fault.what},
                             {"detail", fault.detail},
                             {"since", to_rfc3339(fault.since)},
                             {"elsewhere", fault.shown == Shown::elsewhere}});
  out["beats_withheld"] = text(watch.beats_withheld);
  // The site's own alarms in the form of a cabinet's, so that one reader reads both.
  CabinetView site;
  site.alarms = watch.alarms;
  out["alarms"] = picture(site)["alarms"];
  return out;
}

std::string to_json(const WatchView& watch) {
  return watch_json(watch).dump(-1, ' ', false, Json::error_handler_t::replace);
}

}  // namespace clutchward
