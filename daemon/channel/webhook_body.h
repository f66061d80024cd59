// What a webhook says: the CloudEvents form that all receivers get, or the user's own template.
// Makes text only; nothing here knows of HTTP or of secrets.
#pragma once

#include <string>
#include <string_view>

#include "base/result.h"
#include "notification/notification.h"

namespace clutchward {

// A CloudEvents 1.0 event in structured mode (application/cloudevents+json), `data` as published.
// Bytes that are not UTF-8 become U+FFFD.
std::string cloud_event(const Notification& message, const std::string& site);

// How a value is written into a template so that it stays a value.
enum class Escape : unsigned char { none, json, form };

// By media type, parameters ignored: application/json and every "+json" json,
// application/x-www-form-urlencoded form, anything else none.
Escape escape_for(std::string_view content_type);

// The Mustache template with the message's values in place: first_line message urgency contact id
// site cabinet batch alarm event episode acknowledge snooze pass_on. A value that is not there is
// empty and its section is not shown. Refused: a template that does not parse.
Result<std::string> fill_template(const std::string& pattern, const Notification& message,
                                  const std::string& site, Escape escape);

// True where `text` may stand as the value of a header: no control character but the tab.
bool fit_for_header(std::string_view text);

}  // namespace clutchward
