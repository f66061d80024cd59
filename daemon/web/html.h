// From values to a document: what every page has in common. The templates escape; this only cleans
// what has no place in a document at all.
#pragma once

#include <kainjow/mustache.hpp>
#include <string>
#include <string_view>

#include "web/exchange.h"
#include "web/gate.h"

namespace clutchward {

struct Site;

using HtmlData = kainjow::mustache::data;
using HtmlList = kainjow::mustache::list;

// Sets `key` to the text, cleaned: control characters and bytes that are no UTF-8 become U+FFFD, a
// number and its degrees stay on one line. False (for a section) where it is empty.
void put(HtmlData& into, const std::string& key, std::string_view text);
// The list, and under "key?" whether there is anything in it.
void put_list(HtmlData& into, const std::string& key, HtmlList list);
HtmlData line(std::string_view text);

// "setter a" -> "setter%20a", fit for one part of a path or a query.
std::string in_address(std::string_view text);

// Fills a template of ours, with the partials that all share. A template that does not parse is our
// own bug.
std::string fill(std::string_view pattern, HtmlData& data);
// The whole document around it. `data` needs "title"; "renews" where the page renews itself.
std::string document(std::string_view body, HtmlData& data, const PageTerms& terms,
                     const Visitor& visitor);
Answer html(unsigned status, std::string text);
// A page that says one thing, and where to go from there.
Answer said(unsigned status, const std::string& title, const std::string& text,
            const std::string& back, const Site& site, const Visitor& visitor);
// 303 to a path of ours.
Answer go_to(const std::string& path);
// The same path, or "/" where it is none of ours.
std::string own_path(std::string_view path);

}  // namespace clutchward
