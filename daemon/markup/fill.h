// Values poured into templates of HTML. The templates escape; this only cleans what has no place in
// a document at all.
#pragma once

#include <kainjow/mustache.hpp>
#include <string>
#include <string_view>

namespace clutchward {

using HtmlData = kainjow::mustache::data;
using HtmlList = kainjow::mustache::list;

// Sets `key` to the text, cleaned: control characters and bytes that are no UTF-8 become U+FFFD, a
// number and its degrees stay on one line. False (for a section) where it is empty.
void put(HtmlData& into, const std::string& key, std::string_view text);
// The list, and under "key?" whether there is anything in it.
void put_list(HtmlData& into, const std::string& key, HtmlList list);
HtmlData line(std::string_view text);

// Fills a template of ours, read anew each time: for what is made now and then. A template that
// does not parse is our own bug.
std::string fill(std::string_view pattern, HtmlData& data);

}  // namespace clutchward
