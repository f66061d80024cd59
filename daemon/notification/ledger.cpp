// One cabinet's announcements as a tree and back. What a damaged tree does not say is left out.
#include "notification/ledger.h"

#include <algorithm>

namespace clutchward {
namespace {

// More news of one cabinet than anybody reads at once: the oldest go (our own choice).
constexpr std::size_t kNews = 100;

Priority priority_of(std::string_view name) {
  for (const Priority priority : {Priority::medium, Priority::high})
    if (name == name_of(priority)) return priority;
  return Priority::low;
}

Tree tree_of(const std::vector<Quiet>& news) {
  Tree list = Tree::list();
  for (const Quiet& quiet : news) {
    Tree item = Tree::map();
    item.add("event", kept::tree_of(quiet.event));
    item.add("episode", Tree(quiet.episode));
    item.add("first_line", Tree(quiet.first_line));
    item.add("line", Tree(quiet.line));
    item.add("contacts", kept::strings(quiet.contacts));
    if (quiet.priority != Priority::low)
      item.add("priority", Tree(std::string(name_of(quiet.priority))));
    list.add(std::move(item));
  }
  return list;
}

std::vector<Quiet> news_of(const Tree& tree, std::string_view key) {
  std::vector<Quiet> news;
  for (const auto& [unused, item] : kept::items(tree, key)) {
    const Tree* event = item.find("event");
    auto read = event != nullptr ? kept::event_of(*event) : std::nullopt;
    if (!read) continue;
    news.push_back({std::move(*read), kept::text(item, "episode"), kept::text(item, "first_line"),
                    kept::text(item, "line"), kept::strings(item, "contacts"),
                    priority_of(kept::text(item, "priority"))});
  }
  return news;
}

// For one more contact; the words are kept once.
void hold(std::vector<Quiet>& held, Quiet quiet, const std::string& contact) {
  for (Quiet& one : held) {
    if (one.event != quiet.event || one.line != quiet.line) continue;
    add_contact(one.contacts, contact);
    return;
  }
  if (held.size() >= kNews) held.erase(held.begin());
  quiet.contacts = {contact};
  held.push_back(std::move(quiet));
}

}  // namespace

bool CabinetLedger::gathers() const {
  return !news.empty() || std::any_of(episodes.begin(), episodes.end(),
                                      [](const auto& one) { return !one.second.gathered.empty(); });
}

void CabinetLedger::add_news(Quiet quiet) {
  if (news.size() >= kNews) news.erase(news.begin());
  news.push_back(std::move(quiet));
}

void CabinetLedger::hold_news(Quiet quiet, const std::string& contact) {
  hold(held_news, std::move(quiet), contact);
}

void CabinetLedger::hold_news_for_hours(Quiet quiet, const std::string& contact) {
  hold(hours_news, std::move(quiet), contact);
}

std::optional<Steady> CabinetLedger::next_deadline(const Steps& steps) const {
  std::optional<Steady> first;
  for (const auto& [key, episode] : episodes)
    if (const auto due = episode.next_deadline(steps); due && (!first || *due < *first))
      first = due;
  return first;
}

Tree tree_of(const CabinetLedger& ledger, const kept::Clocks& clocks) {
  Tree tree = Tree::map();
  Tree episodes = Tree::list();
  for (const auto& [key, episode] : ledger.episodes) episodes.add(tree_of(episode, clocks));
  tree.add("episodes", std::move(episodes));
  tree.add("news", tree_of(ledger.news));
  if (!ledger.held_news.empty()) tree.add("held_news", tree_of(ledger.held_news));
  if (!ledger.hours_news.empty()) tree.add("hours_news", tree_of(ledger.hours_news));
  return tree;
}

CabinetLedger ledger_of(const Tree& tree, const kept::Clocks& clocks) {
  CabinetLedger ledger;
  for (const auto& [unused, item] : kept::items(tree, "episodes"))
    if (auto episode = episode_of(item, clocks)) {
      const AlarmKey key = episode->key;
      ledger.episodes.insert_or_assign(key, std::move(*episode));
    }
  ledger.news = news_of(tree, "news");
  ledger.held_news = news_of(tree, "held_news");
  ledger.hours_news = news_of(tree, "hours_news");
  return ledger;
}

}  // namespace clutchward
