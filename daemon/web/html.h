// From values to a document: what every page has in common. The templates escape; this only cleans
// what has no place in a document at all.
#pragma once

#include <string>
#include <string_view>

#include "markup/fill.h"
#include "web/exchange.h"
#include "web/gate.h"

namespace clutchward {

struct Site;

// "setter a" -> "setter%20a", fit for one part of a path or a query.
std::string in_address(std::string_view text);

// The whole document around it. `data` needs "title"; "renews" where the script renews the page,
// "renews_plain" where it renews itself without one as well: nobody types anything there.
std::string document(std::string_view body, HtmlData& data, const PageTerms& terms,
                     const Visitor& visitor);
Answer html(unsigned status, std::string text);
// A page that says one thing, and where to go from there.
Answer said(unsigned status, const std::string& title, const std::string& text,
            const std::string& back, const Site& site, const Visitor& visitor);
// Nothing is at this address: a page for a person, a sentence for a program.
Answer nothing_here(const Request& request, const Site& site);
// 303 to a path of ours.
Answer go_to(const std::string& path);
// The same path, or "/" where it is none of ours.
std::string own_path(std::string_view path);

}  // namespace clutchward
