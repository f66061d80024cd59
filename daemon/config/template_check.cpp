// Walks a template's tags by itself (the library does not tell names), then asks the library
// whether it can read it.
#include "config/template_check.h"

#include <algorithm>
#include <exception>
#include <kainjow/mustache.hpp>

#include "base/text.h"

namespace clutchward {

namespace {

constexpr std::size_t kTemplateBytes = 16 * 1024;
// The library recurses into sections.
constexpr std::size_t kSections = 16;

std::string trimmed(std::string_view text) {
  while (text.starts_with(' ')) text.remove_prefix(1);
  while (text.ends_with(' ')) text.remove_suffix(1);
  return std::string(text);
}

bool known(const std::string& name) {
  const std::vector<std::string>& names = template_names();
  return std::find(names.begin(), names.end(), name) != names.end();
}

struct Tag {
  char sign = ' ';  // '#', '^', '/', '!', '>', '=', '&', '{' or ' '
  std::string name;
  std::size_t end = 0;  // behind it
};

// The tag that begins at `start`; nothing behind it where it does not end.
Tag tag_at(std::string_view text, std::size_t start) {
  Tag tag;
  const bool triple = text.substr(start).starts_with("{{{");
  const std::string_view closing = triple ? "}}}" : "}}";
  const std::size_t begin = start + closing.size();
  const std::size_t end = text.find(closing, begin);
  if (end == std::string_view::npos) return tag;
  std::string_view inside = text.substr(begin, end - begin);
  if (triple) {
    tag.sign = '{';
  } else if (!inside.empty() && std::string_view("#^/!>=&").find(inside[0]) != inside.npos) {
    tag.sign = inside[0];
    inside.remove_prefix(1);
  }
  tag.name = trimmed(inside);
  tag.end = end + closing.size();
  return tag;
}

}  // namespace

const std::vector<std::string>& template_names() {
  static const std::vector<std::string> names = {
      "first_line", "message", "urgency", "episode", "contact",     "id",     "site",
      "cabinet",    "batch",   "alarm",   "event",   "acknowledge", "snooze", "pass_on"};
  return names;
}

std::string template_fault(const std::string& text, std::string& unknown) {
  if (text.size() > kTemplateBytes) {
    return "has " + std::to_string(text.size()) + " bytes; expected at most " +
           std::to_string(kTemplateBytes);
  }
  std::vector<std::string> open;
  for (std::size_t at = text.find("{{"); at != std::string::npos;) {
    const Tag tag = tag_at(text, at);
    if (tag.end == 0) return "opens a tag with {{ and does not close it; expected }}";
    const std::string shown = "{{" + printable(tag.name, 60) + "}}";
    if (tag.sign == '>') return "includes another template; expected plain names only";
    if (tag.sign == '=') return "sets other delimiters; expected {{ and }} throughout";
    if (tag.sign == '/') {
      if (open.empty() || open.back() != tag.name) {
        return "closes {{#" + printable(tag.name, 60) + "}} where it is not open";
      }
      open.pop_back();
    } else if (tag.sign != '!') {
      if (!known(tag.name)) {
        unknown = tag.name;
        return "uses " + shown + ", which nobody fills";
      }
      if (tag.sign == '#' || tag.sign == '^') open.push_back(tag.name);
      if (open.size() > kSections) {
        return "has more than " + std::to_string(kSections) + " sections within each other";
      }
    }
    at = text.find("{{", tag.end);
  }
  if (!open.empty()) {
    return "opens {{#" + printable(open.back(), 60) + "}} and does not close it";
  }
  try {
    const kainjow::mustache::mustache parsed(text);
    if (!parsed.is_valid()) return "is no Mustache template: " + printable(parsed.error_message());
  } catch (const std::exception& exception) {
    return "is no Mustache template: " + printable(exception.what());
  }
  return "";
}

}  // namespace clutchward
