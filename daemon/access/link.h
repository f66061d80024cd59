// Signed links: what a message lets its reader do with the alarm that it tells of. A link names all
// of it and proves that we wrote it; by itself it lets nobody do anything.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "alarm/event.h"
#include "base/result.h"
#include "base/time.h"
#include "base/tree.h"
#include "engine/command.h"

namespace clutchward {

struct Link {
  Deed deed = Deed::acknowledge;  // acknowledge, snooze or pass_on
  AlarmKey alarm;                 // of the message's first line
  std::string episode;            // of that alarm: the link dies with it
  std::string person;             // the contact it was sent to
  Wall told_at{};                 // what was raised later, the message did not tell
  Wall expires{};
  std::vector<std::string> cabinets;  // others that the message told of
  bool operator==(const Link&) const = default;
};

// How long a link may be used, and how often the key that signs is replaced. Each key outlives its
// last link.
inline constexpr Span kLinkLife{24LL * 3600 * 1000};

class LinkKeys {
 public:
  // The link as it stands in an address: base64url, about 200 bytes. A key is made or replaced
  // where it is due.
  std::string sign(const Link& link, const std::string& site, Wall now);
  // Refuses with a sentence: forged, of another site, by a key that is gone, expired.
  Result<Link> read(std::string_view token, const std::string& site, Wall now) const;

  // What is to be kept under "site/link-keys", if it has changed since the last call.
  std::optional<Tree> take_changed();
  void restore(const Tree& kept);

 private:
  struct Key {
    std::string id;
    std::string secret;  // 256 random bits
    Wall made_at{};
  };
  void renew(Wall now);

  std::vector<Key> keys_;  // newest last
  bool changed_ = false;
};

}  // namespace clutchward
