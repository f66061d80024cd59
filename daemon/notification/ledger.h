// What has been announced at one cabinet and what of it still waits. One tree of the state each, so
// that an event costs its own cabinet alone.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "notification/episode.h"
#include "notification/message.h"

namespace clutchward {

struct CabinetLedger {
  std::map<AlarmKey, Episode> episodes;
  std::vector<Quiet> news;         // waits for the gathering to end
  std::vector<Quiet> held_news;    // waits for the list of contacts in a flood
  std::vector<Quiet> hours_news;   // waits for the end of contacts' quiet hours
  std::optional<Steady> deadline;  // as it stands in the order of deadlines; not kept
  bool operator==(const CabinetLedger&) const = default;

  bool empty() const {
    return episodes.empty() && news.empty() && held_news.empty() && hours_news.empty();
  }
  bool gathers() const;
  void add_news(Quiet quiet);
  void hold_news(Quiet quiet, const std::string& contact);
  void hold_news_for_hours(Quiet quiet, const std::string& contact);
  std::optional<Steady> next_deadline(const Steps& steps) const;
};

Tree tree_of(const CabinetLedger& ledger, const kept::Clocks& clocks);
CabinetLedger ledger_of(const Tree& tree, const kept::Clocks& clocks);

}  // namespace clutchward
