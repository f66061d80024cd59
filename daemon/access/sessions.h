// Who stays logged in where: the cookies that were given out, as their hashes. Knows no clock and
// no HTTP. Ends with a changed passphrase, with the person, by its owner, or by itself unused.
#pragma once

#include <map>
#include <optional>
#include <string>

#include "base/time.h"
#include "base/tree.h"
#include "cabinet/person.h"

namespace clutchward {

using People = std::map<std::string, PersonSettings>;

struct Session {
  std::string person;
  bool links_only = false;  // a phone that knows the PIN: answers links, and nothing else
  std::string proof;        // which passphrase or PIN it was opened by
  Wall seen_at{};
  bool operator==(const Session&) const = default;
};

class Sessions {
 public:
  // The cookie's value: 256 random bits, told once and kept nowhere.
  std::string open(const std::string& person, bool links_only, const People& people, Wall now);
  // None for an unknown, old or outdated one. Notes the day it was seen.
  std::optional<Session> find(const std::string& cookie, const People& people, Wall now);
  void close(const std::string& cookie);
  // All of one person but that one.
  void close_others(const std::string& person, const std::string& cookie);

  // What is to be kept under "site/sessions", if it has changed since the last call.
  std::optional<Tree> take_changed();
  void restore(const Tree& kept);

 private:
  std::map<std::string, Session> sessions_;  // by the cookie's hash
  bool changed_ = false;
};

// What a form carries beside that cookie, so that no foreign page can send it.
std::string form_token(const std::string& cookie);

}  // namespace clutchward
