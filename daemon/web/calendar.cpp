// Builds the calendar with libical, which escapes and folds.
#include "web/calendar.h"

#include <libical/ical.h>

#include <algorithm>
#include <memory>
#include <utility>

namespace clutchward {
namespace {

using Component = std::unique_ptr<icalcomponent, decltype(&icalcomponent_free)>;

// Ids may hold nearly anything: what is no letter or digit becomes its number.
std::string safe(const std::string& id) {
  constexpr char kHex[] = "0123456789abcdef";
  std::string out;
  for (const unsigned char c : id) {
    const bool plain = (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
    if (plain || c == '-') {
      out += static_cast<char>(c);
    } else {
      out += '=';
      out += kHex[c >> 4U];
      out += kHex[c & 15U];
    }
  }
  return out;
}

icaltimetype day_of(std::chrono::local_days day) {
  const std::chrono::year_month_day date{day};
  icaltimetype time = icaltime_null_date();
  time.year = static_cast<int>(date.year());
  time.month = static_cast<int>(static_cast<unsigned>(date.month()));
  time.day = static_cast<int>(static_cast<unsigned>(date.day()));
  return time;
}

icaltimetype utc_of(Wall wall) {
  const auto seconds = std::chrono::floor<std::chrono::seconds>(wall).time_since_epoch().count();
  return icaltime_from_timet_with_zone(seconds, 0, icaltimezone_get_utc_timezone());
}

// "17:30 GMT"
std::string hour_text(const Zone& zone, Wall wall) {
  const auto local = zone.to_local(wall);
  const auto minutes =
      std::chrono::floor<std::chrono::minutes>(local - std::chrono::floor<std::chrono::days>(local))
          .count();
  const auto two = [](std::int64_t number) {
    return (number < 10 ? "0" : "") + std::to_string(number);
  };
  return two(minutes / 60) + ":" + two(minutes % 60) + " " + zone.abbreviation_at(wall);
}

std::string description(const BatchStanding& batch, const BatchDate& date, const Zone& zone) {
  const BatchRecord& record = batch.record;
  std::string text = date.what + ".\n" + record.name;
  if (record.eggs > 0) text += ", " + std::to_string(record.eggs_left()) + " eggs";
  text += ", in " + batch.cabinet_name + ".";
  if (date.from == date.to)
    text += "\nThe hour by its setting: " + hour_text(zone, date.from) + ".";
  return text;
}

icalcomponent* event_of(const std::string& site, const Zone& zone, const BatchStanding& batch,
                        const BatchDate& date, Wall now) {
  const std::string kind(name_of(date.kind));
  const std::string uid = safe(site) + "." + safe(batch.record.id) + "." + kind + "." +
                          std::to_string(date.number) + "@clutchward";
  const auto first = std::chrono::floor<std::chrono::days>(zone.to_local(date.from));
  const auto last = std::chrono::floor<std::chrono::days>(zone.to_local(date.to));
  icalcomponent* event = icalcomponent_new_vevent();
  const auto add = [&](icalproperty* property) { icalcomponent_add_property(event, property); };
  add(icalproperty_new_uid(uid.c_str()));
  add(icalproperty_new_dtstamp(utc_of(now)));
  add(icalproperty_new_dtstart(day_of(first)));
  add(icalproperty_new_dtend(day_of(last + std::chrono::days{1})));  // the end is not part of it
  add(icalproperty_new_summary((batch.record.id + ": " + date.what).c_str()));
  add(icalproperty_new_description(description(batch, date, zone).c_str()));
  add(icalproperty_new_location(batch.cabinet_name.c_str()));
  add(icalproperty_new_categories(kind.c_str()));
  add(icalproperty_new_transp(ICAL_TRANSP_TRANSPARENT));
  return event;
}

std::string text_of(const Component& component) {
  const std::unique_ptr<char, decltype(&icalmemory_free_buffer)> text(
      icalcomponent_as_ical_string_r(component.get()), &icalmemory_free_buffer);
  return text ? std::string(text.get()) : std::string();
}

}  // namespace

CalendarText::CalendarText(std::string site, Zone zone, Wall now)
    : site_(std::move(site)), zone_(std::move(zone)), now_(now) {
  const Component all(icalcomponent_new_vcalendar(), &icalcomponent_free);
  icalcomponent_add_property(all.get(), icalproperty_new_version("2.0"));
  icalcomponent_add_property(all.get(), icalproperty_new_prodid("-//Clutchward//Batches//EN"));
  icalproperty* name = icalproperty_new_x(site_.c_str());
  icalproperty_set_x_name(name, "X-WR-CALNAME");
  icalcomponent_add_property(all.get(), name);
  // Events stand before its end, each as the library writes it.
  text_ = text_of(all);
  const std::size_t end = std::min(text_.rfind("END:VCALENDAR"), text_.size());
  end_ = text_.substr(end);
  text_.resize(end);
}

void CalendarText::add(const BatchStanding& batch) {
  for (const BatchDate& date : batch.dates)
    if (!date.done)
      text_ += text_of(Component(event_of(site_, zone_, batch, date, now_), &icalcomponent_free));
}

std::string CalendarText::finish() && { return std::move(text_ += end_); }

std::string calendar(const std::string& site, const Zone& zone,
                     const std::vector<BatchStanding>& batches, Wall now) {
  CalendarText text(site, zone, now);
  for (const BatchStanding& batch : batches) text.add(batch);
  return std::move(text).finish();
}

}  // namespace clutchward
