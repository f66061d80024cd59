// What the book of replies keeps over a restart.
#include "access/random.h"
#include "access/reply_book.h"

namespace clutchward {
namespace {

constexpr const char* kKeys = "site/reply-keys";
constexpr std::string_view kBefore = "replies/";

Tree words(const std::vector<std::string>& texts) {
  Tree list = Tree::list();
  for (const std::string& text : texts) list.add(Tree(text));
  return list;
}

std::vector<std::string> words(const Tree& tree, std::string_view key) {
  std::vector<std::string> texts;
  if (const Tree* list = tree.find(key))
    for (const auto& [unused, item] : list->members) texts.push_back(item.text);
  return texts;
}

}  // namespace

std::vector<Change> ReplyBook::take_changes() {
  std::vector<Change> changes;
  if (std::exchange(keys_changed_, false)) {
    Tree tree = Tree::list();
    for (const Key& key : keys_) {
      Tree one = Tree::map();
      one.add("id", key.id);
      one.add("secret", to_base64url(key.secret));
      one.add("made_at", to_rfc3339(key.made_at));
      tree.add(std::move(one));
    }
    changes.push_back({kKeys, std::move(tree)});
  }
  for (const std::string& message : std::exchange(changed_, {})) {
    const auto told = told_.find(message);
    if (told == told_.end()) {
      changes.push_back({std::string(kBefore) + message, std::nullopt});
      continue;
    }
    const Link& link = told->second.link;
    Tree tree = Tree::map();
    tree.add("cabinet", link.alarm.cabinet);
    tree.add("batch", link.alarm.batch);
    tree.add("alarm", link.alarm.alarm);
    tree.add("episode", link.episode);
    tree.add("person", link.person);
    tree.add("told_at", to_rfc3339(link.told_at));
    tree.add("key", told->second.key);
    if (!link.cabinets.empty()) tree.add("cabinets", words(link.cabinets));
    if (!told->second.taken.empty()) tree.add("taken", words(told->second.taken));
    changes.push_back({std::string(kBefore) + message, std::move(tree)});
  }
  return changes;
}

void ReplyBook::restore(const std::vector<std::pair<std::string, Tree>>& kept) {
  for (const auto& [name, tree] : kept) {
    if (name == kKeys) {
      for (const auto& [unused, one] : tree.members) {
        Key key{std::string(one.get("id")), "", Wall{}};
        const auto made = parse_rfc3339(one.get("made_at"));
        if (!made || !from_base64url(one.get("secret"), key.secret)) continue;
        key.made_at = *made;
        keys_.push_back(std::move(key));
      }
    }
    if (!name.starts_with(kBefore)) continue;
    const auto told_at = parse_rfc3339(tree.get("told_at"));
    if (!told_at || tree.get("episode").empty() || tree.get("person").empty()) continue;
    Told told;
    told.link.alarm = {std::string(tree.get("cabinet")), std::string(tree.get("batch")),
                       std::string(tree.get("alarm"))};
    told.link.episode = tree.get("episode");
    told.link.person = tree.get("person");
    told.link.told_at = *told_at;
    told.link.cabinets = words(tree, "cabinets");
    told.key = tree.get("key");
    told.taken = words(tree, "taken");
    told_[name.substr(kBefore.size())] = std::move(told);
  }
}

}  // namespace clutchward
