// The token: fields, one a line, in base64url, a full stop, and the first 128 bits of their
// HMAC-SHA256 (RFC 2104). The site is signed and not written: it is known where the link is read.
#include "access/link.h"

#include <algorithm>
#include <charconv>

#include "access/random.h"
#include "base/limits.h"

namespace clutchward {
namespace {

constexpr std::string_view kVersion = "1";
constexpr std::size_t kTagBytes = 16;
constexpr std::size_t kKeyBytes = 32;
constexpr std::size_t kFields = 9;  // and the other cabinets behind them
// A step of the clock must not make a key from the future sign for ever.
constexpr std::size_t kKeys = 3;

std::string tag_of(const std::string& secret, std::string_view payload, const std::string& site) {
  return hmac_sha256(secret, "clutchward link\n" + site + "\n" + std::string(payload))
      .substr(0, kTagBytes);
}

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::size_t from = 0;
  while (true) {
    const std::size_t end = text.find('\n', from);
    lines.push_back(text.substr(from, end - from));
    if (end == std::string::npos) return lines;
    from = end + 1;
  }
}

std::optional<Wall> wall_of(const std::string& text) {
  std::int64_t value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || end != text.data() + text.size()) return std::nullopt;
  return Wall{} + Span{value};
}

std::string text_of(Wall time) { return std::to_string((time - Wall{}).count()); }

std::optional<Deed> deed_of(const std::string& word) {
  for (const Deed deed : {Deed::acknowledge, Deed::snooze, Deed::pass_on})
    if (name_of(deed) == word) return deed;
  return std::nullopt;
}

const Refusal kForged{
    "This link was not written by this Clutchward, or it was damaged on its way."};

}  // namespace

void LinkKeys::renew(Wall now) {
  const bool fresh = !keys_.empty() && now - keys_.back().made_at < kLinkLife &&
                     keys_.back().made_at - now < kLinkLife;
  if (fresh) return;
  keys_.push_back({to_base64url(random_bytes(6)), random_bytes(kKeyBytes), now});
  if (keys_.size() > kKeys) keys_.erase(keys_.begin());
  changed_ = true;
}

std::string LinkKeys::sign(const Link& link, const std::string& site, Wall now) {
  renew(now);
  const Key& key = keys_.back();
  std::string payload(kVersion);
  for (const std::string& field :
       {key.id, std::string(name_of(link.deed)), link.alarm.cabinet, link.alarm.batch,
        link.alarm.alarm, link.episode, link.person, text_of(link.told_at)})
    payload += "\n" + field;
  payload += "\n" + text_of(link.expires);
  for (const std::string& cabinet : link.cabinets) payload += "\n" + cabinet;
  return to_base64url(payload) + "." + to_base64url(tag_of(key.secret, payload, site));
}

Result<Link> LinkKeys::read(std::string_view token, const std::string& site, Wall now) const {
  if (token.size() > limits::kLinkBytes) return kForged;
  const auto stop = token.find('.');
  std::string payload;
  std::string tag;
  if (stop == std::string_view::npos || !from_base64url(token.substr(0, stop), payload) ||
      !from_base64url(token.substr(stop + 1), tag))
    return kForged;
  const auto fields = lines_of(payload);
  if (fields.size() < kFields + 1 || fields[0] != kVersion) return kForged;
  const auto key = std::find_if(keys_.begin(), keys_.end(),
                                [&](const Key& each) { return each.id == fields[1]; });
  // The same sentence for both: nobody learns which keys there are.
  if (key == keys_.end() || !same_secret(tag, tag_of(key->secret, payload, site))) return kForged;
  const auto deed = deed_of(fields[2]);
  const auto told = wall_of(fields[8]);
  const auto expires = wall_of(fields[9]);
  if (!deed || !told || !expires) return kForged;
  if (now >= *expires) return Refusal{"This link is too old: it was good for a day."};
  Link link{*deed, {fields[3], fields[4], fields[5]}, fields[6], fields[7], *told, *expires, {}};
  link.cabinets.assign(fields.begin() + kFields + 1, fields.end());
  return link;
}

std::optional<Tree> LinkKeys::take_changed() {
  if (!std::exchange(changed_, false)) return std::nullopt;
  Tree tree = Tree::list();
  for (const Key& key : keys_) {
    Tree one = Tree::map();
    one.add("id", key.id);
    one.add("secret", to_base64url(key.secret));
    one.add("made_at", to_rfc3339(key.made_at));
    tree.add(std::move(one));
  }
  return tree;
}

void LinkKeys::restore(const Tree& kept) {
  for (const auto& [unused, one] : kept.members) {
    Key key{std::string(one.get("id")), "", Wall{}};
    const auto made = parse_rfc3339(one.get("made_at"));
    if (!made || !from_base64url(one.get("secret"), key.secret) || key.secret.size() != kKeyBytes)
      continue;
    key.made_at = *made;
    keys_.push_back(std::move(key));
  }
}

}  // namespace clutchward
