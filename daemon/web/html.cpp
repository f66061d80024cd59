// The frame of a page.
#include "web/html.h"

#include <algorithm>

#include "web/assets.h"
#include "web/site.h"
#include "web/templates.h"

namespace clutchward {
namespace {

constexpr std::string_view kTop = R"(<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
{{#renews_plain}}<noscript><meta http-equiv="refresh" content="60"></noscript>
{{/renews_plain}}<title>{{title}} - {{site}}</title>
<link rel="icon" href="/icon.svg" type="image/svg+xml">
<link rel="stylesheet" href="{{style_address}}">
{{#renews}}<script src="{{script_address}}" defer></script>
{{/renews}}{{#plots}}<link rel="stylesheet" href="/uplot-1.6.32.css">
<script src="/uplot-1.6.32.js" defer></script>
<script src="{{curve_address}}" defer></script>
{{/plots}}</head>
<body>
<p id="stale" class="stale" role="alert" hidden>This page has lost its connection. What it shows may be old.</p>
)";

constexpr std::string_view kBottom = R"(<nav aria-label="This page">
<ul>
<li><a href="/">All cabinets</a></li>
<li><a href="/batches">Batches</a></li>
{{#person}}<li>Logged in as <b><bdi>{{person}}</bdi></b>
<form method="post" action="/logout"><input type="hidden" name="token" value="{{token}}"><button>Log out</button></form></li>
{{/person}}{{#login}}<li><a href="/login">Log in</a></li>
{{/login}}</ul>
</nav>
</body>
</html>
)";

constexpr std::string_view kSaid = R"(<main>
<h1>{{title}}</h1>
<p class="said">{{text}}</p>
<p><a class="button" href="{{back}}">Back</a></p>
</main>
)";

}  // namespace

std::string in_address(std::string_view text) {
  constexpr std::string_view kPlain =
      "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-._~";
  constexpr std::string_view kHex = "0123456789ABCDEF";
  std::string out;
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (kPlain.find(c) != std::string_view::npos)
      out += c;
    else
      (out += '%', out += kHex[byte >> 4], out += kHex[byte & 15]);
  }
  return out;
}

std::string document(std::string_view body, HtmlData& data, const PageTerms& terms,
                     const Visitor& visitor) {
  put(data, "site", terms.site.empty() ? "Clutchward" : terms.site);
  const bool session = visitor.by == Visitor::By::session;
  put(data, "person", session ? visitor.person : "");
  put(data, "token", visitor.form_token);
  data.set("login", !session && !terms.people.empty());
  for (const char* each : {"renews", "renews_plain", "plots"})
    if (data.get(each) == nullptr) data.set(each, false);
  put(data, "style_address", asset_address("/style.css"));
  put(data, "script_address", asset_address("/page.js"));
  put(data, "curve_address", asset_address("/curve.js"));
  return fill_page(kTop, body, kBottom, data);
}

Answer html(unsigned status, std::string text) {
  return {status, "text/html; charset=utf-8", std::move(text), "", {}, {}};
}

Answer said(unsigned status, const std::string& title, const std::string& text,
            const std::string& back, const Site& site, const Visitor& visitor) {
  HtmlData data;
  put(data, "title", title);
  put(data, "text", text);
  put(data, "back", own_path(back));
  return html(status, document(kSaid, data, site.gate.terms(), visitor));
}

Answer nothing_here(const Request& request, const Site& site) {
  constexpr const char* kText = "There is nothing at this address.";
  if (request.header("Accept").find("text/html") == std::string_view::npos)
    return sentence(404, kText);
  return said(404, "Nothing here", kText, "/", site, {});
}

Answer go_to(const std::string& path) {
  Answer answer = sentence(303, "Go to " + own_path(path));
  answer.headers.emplace_back("Location", own_path(path));
  return answer;
}

std::string own_path(std::string_view path) {
  const bool plain = std::all_of(path.begin(), path.end(), [](char c) {
    return c > 0x20 && c < 0x7f && c != '\\' && c != '"' && c != '<' && c != '>';
  });
  if (!plain || !path.starts_with('/') || path.starts_with("//") || path.size() > 500) return "/";
  return std::string(path);
}

}  // namespace clutchward
