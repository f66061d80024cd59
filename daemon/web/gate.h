// Who stands before the page, and what that one may do: by cookie, by name and passphrase in the
// request, or because the configuration trusts this machine. Serves no page itself.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "access/attempts.h"
#include "access/link.h"
#include "access/role.h"
#include "access/sessions.h"
#include "cabinet/settings.h"
#include "web/exchange.h"
#include "web/hash_worker.h"

namespace clutchward {

struct PageTerms {
  PageSettings page;
  People people;
  std::string site;
};

struct Visitor {
  // anonymous: nobody is named in the configuration, so whoever gets here may look
  enum class By : std::uint8_t { nobody, anonymous, control, loopback, session, passphrase };
  By by = By::nobody;
  std::string person;  // "" : not named
  Role role = Role::look;
  bool links_only = false;
  std::string form_token;  // what its forms must carry; "" : it may send none

  bool may_look() const { return by != By::nobody && !links_only; }
  bool may_do(Role needed) const {
    return by != By::nobody && by != By::anonymous && !links_only && may(role, needed);
  }
};

class Gate {
 public:
  using Found = std::function<void(const Visitor&)>;

  void configure(PageTerms terms) {
    terms_ = std::move(terms);
    known_.clear();
  }
  const PageTerms& terms() const { return terms_; }

  // Tells who it is, within the call or in a later turn. A name and passphrase in the request that
  // are wrong, or come too often, are answered through `respond` instead.
  void find(const Request& request, Moment now, const Found& found, const Respond& respond);
  // By cookie and place alone; never waits.
  Visitor at_once(const Request& request, Moment now);

  // Why a change may not be asked for by this request: it comes from a page of somebody else, or
  // without the token of its form ("" of `token`: none is asked for). None where it may.
  std::optional<Answer> foreign(const Request& request) const;
  std::optional<Answer> without_token(const Visitor& visitor, std::string_view token) const;

  // Checks a secret of one person, slowed down where it was wrong before. `done` gets none where
  // it fits, and otherwise what to answer.
  enum class Secret : std::uint8_t { passphrase, pin };
  void check(const std::string& person, Secret which, const std::string& secret,
             const std::string& address, Moment now,
             const std::function<void(std::optional<Answer>)>& done);

  // The header that logs a phone in, or out.
  std::pair<std::string, std::string> open_session(const Request& request,
                                                   const std::string& person, bool links_only,
                                                   Wall now);
  std::pair<std::string, std::string> close_session(const Request& request);

  // The client's own address, behind as many named proxies as there are; IPv6 by its network.
  std::string address_of(const Request& request) const;

  LinkKeys links;
  Sessions sessions;
  HashWorker hashes;

 private:
  bool from_here(const Request& request) const;
  bool encrypted(const Request& request) const;
  std::string cookie_of(const Request& request) const;
  std::string cookie_name(const Request& request) const;
  void by_passphrase(const Request& request, std::string_view credentials, Moment now,
                     const Found& found, const Respond& respond);

  PageTerms terms_;
  Attempts attempts_;
  // Name and passphrase that were found good, as a MAC by a key of this run alone: a program that
  // sends them with every request does not cost a hash each time.
  struct Known {
    std::string mac;
    std::string person;
    Steady until{};
  };
  std::vector<Known> known_;
  std::string run_key_;
};

}  // namespace clutchward
