// Sessions by the hash of their cookie.
#include "access/sessions.h"

#include <algorithm>
#include <vector>

#include "access/random.h"
#include "base/limits.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

// A phone that was not used for a season is a lost phone (our own choice).
constexpr Span kUnused = 90 * 24h;
// Writing each visit down would wear the card for nothing.
constexpr Span kNoted = 24h;

std::string key_of(const std::string& cookie) { return to_base64url(sha256(cookie)); }

// Changes whenever the secret that it was opened by does.
std::string proof_of(const PersonSettings& person, bool links_only) {
  return to_base64url(sha256(links_only ? person.pin : person.passphrase)).substr(0, 16);
}

}  // namespace

std::string Sessions::open(const std::string& person, bool links_only, const People& people,
                           Wall now) {
  const std::string cookie = to_base64url(random_bytes(32));
  const auto oldest = [&](const std::string& of) {
    auto found = sessions_.end();
    std::size_t count = 0;
    for (auto each = sessions_.begin(); each != sessions_.end(); ++each) {
      if (!of.empty() && each->second.person != of) continue;
      ++count;
      if (found == sessions_.end() || each->second.seen_at < found->second.seen_at) found = each;
    }
    return std::pair(found, count);
  };
  if (const auto [found, count] = oldest(person); count >= limits::kSessionsPerPerson)
    sessions_.erase(found);
  if (sessions_.size() >= limits::kSessions) sessions_.erase(oldest("").first);
  sessions_[key_of(cookie)] = {person, links_only, proof_of(people.at(person), links_only), now};
  changed_ = true;
  return cookie;
}

std::optional<Session> Sessions::find(const std::string& cookie, const People& people, Wall now) {
  const auto found = sessions_.find(key_of(cookie));
  if (found == sessions_.end()) return std::nullopt;
  Session& session = found->second;
  const auto person = people.find(session.person);
  if (person == people.end() || now - session.seen_at > kUnused ||
      session.proof != proof_of(person->second, session.links_only)) {
    sessions_.erase(found);
    changed_ = true;
    return std::nullopt;
  }
  if (now - session.seen_at > kNoted) {
    session.seen_at = now;
    changed_ = true;
  }
  return session;
}

void Sessions::close(const std::string& cookie) {
  if (sessions_.erase(key_of(cookie)) > 0) changed_ = true;
}

void Sessions::close_others(const std::string& person, const std::string& cookie) {
  const std::string own = key_of(cookie);
  const auto gone = std::erase_if(sessions_, [&](const auto& each) {
    return each.second.person == person && each.first != own;
  });
  if (gone > 0) changed_ = true;
}

std::optional<Tree> Sessions::take_changed() {
  if (!std::exchange(changed_, false)) return std::nullopt;
  Tree tree = Tree::map();
  for (const auto& [key, session] : sessions_) {
    Tree one = Tree::map();
    one.add("person", session.person);
    if (session.links_only) one.add("links_only", "yes");
    one.add("proof", session.proof);
    one.add("seen_at", to_rfc3339(session.seen_at));
    tree.add(key, std::move(one));
  }
  return tree;
}

void Sessions::restore(const Tree& kept) {
  for (const auto& [key, one] : kept.members) {
    const auto seen = parse_rfc3339(one.get("seen_at"));
    if (!seen || key.size() != 43 || sessions_.size() >= limits::kSessions) continue;
    sessions_[key] = {std::string(one.get("person")), one.get("links_only") == "yes",
                      std::string(one.get("proof")), *seen};
  }
}

std::string form_token(const std::string& cookie) {
  return to_base64url(hmac_sha256(cookie, "form").substr(0, 16));
}

}  // namespace clutchward
