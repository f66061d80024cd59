// Cleaning, and the template library.
#include "markup/fill.h"

#include <algorithm>

#include "base/check.h"
#include "base/utf8.h"

namespace clutchward {

void put(HtmlData& into, const std::string& key, std::string_view text) {
  if (text.empty()) return into.set(key, HtmlData::type::bool_false);
  std::string out;
  while (text.ends_with('\n')) text.remove_suffix(1);  // of a line that was meant for a program
  while (!text.empty()) {
    const utf8::Character next = utf8::first(text);
    const bool odd = next.bytes == 0 || next.code < 0x20 || (next.code >= 0x7f && next.code < 0xa0);
    const std::size_t bytes = std::max<std::size_t>(next.bytes, 1);
    if (text.starts_with(" °"))
      out += "\u00a0";
    else
      out += odd ? "\xEF\xBF\xBD" : text.substr(0, bytes);
    text.remove_prefix(bytes);
  }
  into.set(key, out);
}

void put_list(HtmlData& into, const std::string& key, HtmlList list) {
  into.set(key + "?", !list.empty());
  into.set(key, HtmlData(std::move(list)));
}

HtmlData line(std::string_view text) {
  HtmlData out;
  put(out, "text", text);
  return out;
}

std::string fill(std::string_view pattern, HtmlData& data) {
  kainjow::mustache::mustache mustache{std::string(pattern)};
  CHECK(mustache.is_valid());
  return mustache.render(data);
}

}  // namespace clutchward
