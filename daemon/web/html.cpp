// The frame of a page.
#include "web/html.h"

#include <algorithm>

#include "base/check.h"
#include "base/utf8.h"
#include "web/site.h"

namespace clutchward {
namespace {

constexpr std::string_view kTop = R"(<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
{{#renews}}<noscript><meta http-equiv="refresh" content="15"></noscript>
{{/renews}}<title>{{title}} - {{site}}</title>
<link rel="icon" href="/icon.svg" type="image/svg+xml">
<link rel="stylesheet" href="/style.css">
{{#renews}}<script src="/page.js" defer></script>
{{/renews}}{{#plots}}<link rel="stylesheet" href="/uplot-1.6.32.css">
<script src="/uplot-1.6.32.js" defer></script>
<script src="/curve.js" defer></script>
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

void put(HtmlData& into, const std::string& key, std::string_view text) {
  if (text.empty()) return into.set(key, HtmlData::type::bool_false);
  std::string out;
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

std::string fill(std::string_view pattern, HtmlData& data) {
  kainjow::mustache::mustache mustache{std::string(pattern)};
  CHECK(mustache.is_valid());
  return mustache.render(data);
}

std::string document(std::string_view body, HtmlData& data, const PageTerms& terms,
                     const Visitor& visitor) {
  put(data, "site", terms.site.empty() ? "Clutchward" : terms.site);
  const bool session = visitor.by == Visitor::By::session;
  put(data, "person", session ? visitor.person : "");
  put(data, "token", visitor.form_token);
  data.set("login", !session && !terms.people.empty());
  for (const char* each : {"renews", "plots"})
    if (data.get(each) == nullptr) data.set(each, false);
  return fill(std::string(kTop) + std::string(body) + std::string(kBottom), data);
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
