// Cookies, credentials, proxies.
#include "web/gate.h"

#include <arpa/inet.h>
#include <netinet/in.h>

#include <algorithm>
#include <array>

#include "access/passphrase.h"
#include "access/random.h"
#include "base/limits.h"
#include "base/text.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

// For a person that does not exist: looking takes as long as for one that does.
constexpr const char* kNobody =
    "$argon2id$v=19$m=19456,t=2,p=1$bm9ib2R5aXNoZXJlIQ$"
    "CTFhFdXPJO1aFaMaO6Mm5c8y7cJHAph8ArZWb2GRPPc";
constexpr Span kKnown = 5min;  // a changed passphrase is a reload, which forgets them all
constexpr std::size_t kKnownAtOnce = 32;
constexpr std::string_view kSessionSeconds = "7776000";  // 90 days, as long as access/ keeps it

bool is_loopback(std::string_view address) {
  return address == "::1" || address.starts_with("127.");
}

// The household behind an IPv6 address: its first 64 bits.
std::string network_of(const std::string& address) {
  in6_addr bytes{};
  if (::inet_pton(AF_INET6, address.c_str(), &bytes) != 1) return address;
  std::fill(std::begin(bytes.s6_addr) + 8, std::end(bytes.s6_addr), 0);
  std::array<char, INET6_ADDRSTRLEN> text{};
  ::inet_ntop(AF_INET6, &bytes, text.data(), text.size());
  return std::string(text.data()) + "/64";
}

bool is_address(const std::string& text) {
  in6_addr unused{};
  return ::inet_pton(AF_INET, text.c_str(), &unused) == 1 ||
         ::inet_pton(AF_INET6, text.c_str(), &unused) == 1;
}

// "Basic bWFyYTo..." and "Bearer mara:..." alike.
std::string credentials_of(std::string_view header) {
  const auto blank = header.find(' ');
  if (blank == std::string_view::npos) return {};
  std::string scheme(header.substr(0, blank));
  std::transform(scheme.begin(), scheme.end(), scheme.begin(),
                 [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c + 32) : c; });
  std::string rest(trimmed(header.substr(blank)));
  if (scheme == "bearer") return rest;
  if (scheme != "basic") return {};
  // Standard base64 differs in two letters and the padding (RFC 4648, section 4).
  while (rest.ends_with('=')) rest.pop_back();
  std::replace(rest.begin(), rest.end(), '+', '-');
  std::replace(rest.begin(), rest.end(), '/', '_');
  std::string decoded;
  return from_base64url(rest, decoded) ? decoded : std::string();
}

Answer later(Span wait) {
  const auto seconds = std::to_string((wait + 999ms) / 1s);
  Answer answer = sentence(429, "Too many wrong tries. Try again in " + seconds + " s.");
  answer.headers.emplace_back("Retry-After", seconds);
  return answer;
}

}  // namespace

std::string Gate::address_of(const Request& request) const {
  const auto& proxies = terms_.page.proxies;
  const auto is_proxy = [&](const std::string& address) {
    return std::find(proxies.begin(), proxies.end(), address) != proxies.end();
  };
  std::string address = request.address;
  // From the right: what stands left of the first stranger, that stranger may have made up.
  std::string forwarded(request.header("X-Forwarded-For"));
  while (is_proxy(address) && !forwarded.empty()) {
    const auto comma = forwarded.rfind(',');
    const auto start = comma == std::string::npos ? 0 : comma + 1;
    std::string each(trimmed(std::string_view(forwarded).substr(start)));
    forwarded.resize(comma == std::string::npos ? 0 : comma);
    if (!is_address(each)) break;
    address = std::move(each);
  }
  return network_of(address);
}

// A proxy on this machine that is not named would make everybody look local: whatever carries its
// marks is not from here.
bool Gate::from_here(const Request& request) const {
  if (!is_loopback(request.address)) return false;
  for (const char* mark : {"X-Forwarded-For", "Forwarded", "X-Real-IP", "Via"})
    for (const auto& [name, unused] : request.headers)
      if (name.size() == std::string_view(mark).size() &&
          std::equal(name.begin(), name.end(), mark,
                     [](char a, char b) { return (a | 0x20) == (b | 0x20); }))
        return false;
  return true;
}

bool Gate::encrypted(const Request& request) const {
  if (request.encrypted) return true;
  const auto& proxies = terms_.page.proxies;
  return std::find(proxies.begin(), proxies.end(), request.address) != proxies.end() &&
         (request.header("X-Forwarded-Proto") == "https" ||
          terms_.page.url.starts_with("https://"));
}

// The prefix makes browsers refuse it from anywhere else than this host over TLS (RFC 6265bis, from
// memory).
std::string Gate::cookie_name(const Request& request) const {
  return encrypted(request) ? "__Host-clutchward" : "clutchward";
}

std::string Gate::cookie_of(const Request& request) const {
  const std::string wanted = cookie_name(request) + "=";
  std::string_view cookies = request.header("Cookie");
  while (!cookies.empty()) {
    const std::string_view each = trimmed(cookies.substr(0, cookies.find(';')));
    cookies.remove_prefix(std::min(cookies.find(';'), cookies.size() - 1) + 1);
    if (each.starts_with(wanted)) return std::string(each.substr(wanted.size()));
  }
  return {};
}

Visitor Gate::at_once(const Request& request, Moment now) {
  using By = Visitor::By;
  if (request.entrance == Entrance::control) return {By::control, "", Role::manage, false, ""};
  if (const std::string cookie = cookie_of(request); !cookie.empty()) {
    if (const auto session = sessions.find(cookie, terms_.people, now.wall))
      return {By::session, session->person, terms_.people.at(session->person).role,
              session->links_only, form_token(cookie)};
  }
  if (terms_.page.trust_loopback && from_here(request)) {
    if (run_key_.empty()) run_key_ = random_bytes(32);
    return {By::loopback, "", Role::manage, false, form_token(run_key_)};
  }
  if (terms_.people.empty()) return {By::anonymous, "", Role::look, false, ""};
  return {};
}

void Gate::find(const Request& request, Moment now, const Found& found, const Respond& respond) {
  const Visitor visitor = at_once(request, now);
  const std::string_view header = request.header("Authorization");
  const bool known = visitor.by == Visitor::By::session || visitor.by == Visitor::By::control;
  if (header.empty() || terms_.people.empty() || known) return found(visitor);
  by_passphrase(request, header, now, found, respond);
}

void Gate::by_passphrase(const Request& request, std::string_view header, Moment now,
                         const Found& found, const Respond& respond) {
  const std::string credentials = credentials_of(header);
  const auto colon = credentials.find(':');
  if (colon == std::string::npos)
    return respond(sentence(
        400, "Authorization cannot be read; expected \"Basic\" or \"Bearer name:passphrase\"."));
  const std::string person = credentials.substr(0, colon);
  if (run_key_.empty()) run_key_ = random_bytes(32);
  const std::string mac = hmac_sha256(run_key_, credentials);
  const auto visitor = [this](const std::string& name) {
    return Visitor{Visitor::By::passphrase, name, terms_.people.at(name).role, false, ""};
  };
  std::erase_if(known_, [&](const Known& each) { return each.until < now.steady; });
  for (const Known& each : known_)
    if (same_secret(each.mac, mac) && terms_.people.contains(each.person))
      return found(visitor(each.person));
  check(person, Secret::passphrase, credentials.substr(colon + 1), address_of(request), now,
        [this, person, mac, found, respond, visitor,
         until = now.steady + kKnown](std::optional<Answer> refusal) {
          if (refusal) return respond(std::move(*refusal));
          if (known_.size() >= kKnownAtOnce) known_.erase(known_.begin());
          known_.push_back({mac, person, until});
          found(visitor(person));
        });
}

void Gate::check(const std::string& person, Secret which, const std::string& secret,
                 const std::string& address, Moment now,
                 const std::function<void(std::optional<Answer>)>& done) {
  const Span wait = attempts_.begin(printable(person, 64), address, now.steady);
  if (wait > Span{0}) return done(later(wait));
  const auto known = terms_.people.find(person);
  std::string hash;
  if (known != terms_.people.end())
    hash = which == Secret::pin ? known->second.pin : known->second.passphrase;
  const bool there = !hash.empty();
  const bool asked = hashes.ask(
      there ? hash : kNobody, secret, [this, person, address, there, which, hash, done](bool fits) {
        // The configuration may have changed meanwhile.
        const auto still = terms_.people.find(person);
        const bool same =
            still != terms_.people.end() &&
            (which == Secret::pin ? still->second.pin : still->second.passphrase) == hash;
        if (!fits || !there || !same)
          return done(sentence(which == Secret::pin ? 403 : 401,
                               which == Secret::pin ? "That PIN is not the right one."
                                                    : "Name and passphrase do not go together."));
        attempts_.succeeded(printable(person, 64), address);
        done(std::nullopt);
      });
  if (!asked) done(later(2s));
}

std::optional<Answer> Gate::foreign(const Request& request) const {
  const auto refused = [] {
    return sentence(403, "This was sent from a page of another site; nothing was done.");
  };
  const std::string_view fetch = request.header("Sec-Fetch-Site");
  if (!fetch.empty() && fetch != "same-origin" && fetch != "none") return refused();
  bool stands = false;
  for (const auto& [name, value] : request.headers)
    if (name == "Origin" || name == "origin") stands = true;
  if (!stands) return std::nullopt;  // no browser, or one that has said so above
  const std::string_view origin = request.header("Origin");
  const std::string host(request.header("Host"));
  if (!host.empty() && (origin == "http://" + host || origin == "https://" + host))
    return std::nullopt;
  if (!terms_.page.url.empty() && origin == terms_.page.url) return std::nullopt;
  return refused();
}

std::optional<Answer> Gate::without_token(const Visitor& visitor, std::string_view token) const {
  if (!visitor.form_token.empty() && same_secret(visitor.form_token, token)) return std::nullopt;
  return sentence(403, "This form is out of date; nothing was done. Open the page again.");
}

std::pair<std::string, std::string> Gate::open_session(const Request& request,
                                                       const std::string& person, bool links_only,
                                                       Wall now) {
  const std::string cookie = sessions.open(person, links_only, terms_.people, now);
  return {"Set-Cookie", cookie_name(request) + "=" + cookie +
                            "; Path=/; Max-Age=" + std::string(kSessionSeconds) +
                            "; HttpOnly; SameSite=Lax" + (encrypted(request) ? "; Secure" : "")};
}

std::pair<std::string, std::string> Gate::close_session(const Request& request) {
  sessions.close(cookie_of(request));
  return {"Set-Cookie", cookie_name(request) + "=; Path=/; Max-Age=0; HttpOnly; SameSite=Lax" +
                            (encrypted(request) ? "; Secure" : "")};
}

}  // namespace clutchward
