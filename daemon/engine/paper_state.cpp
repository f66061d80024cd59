// Writes and reads records entry by entry; knows nothing of the watch.
#include "engine/paper_state.h"

#include <algorithm>
#include <charconv>
#include <cmath>

#include "base/text.h"

namespace clutchward {
namespace {

void text(Tree& tree, const char* key, const std::string& value) {
  if (!value.empty()) tree.add(key, value);
}
void number(Tree& tree, const char* key, std::int64_t value) {
  if (value != 0) tree.add(key, std::to_string(value));
}
// Thousandths are kept: grams, days.
void decimal(Tree& tree, const char* key, std::optional<double> value) {
  if (value) tree.add(key, milli_exact(std::llround(*value * 1000)));
}
void wall(Tree& tree, const char* key, Wall value) { tree.add(key, to_rfc3339(value)); }

template <class Each, class Save>
void list(Tree& tree, const char* key, const std::vector<Each>& all, Save save) {
  if (all.empty()) return;
  Tree items = Tree::list();
  for (const Each& each : all) {
    Tree item = Tree::map();
    save(item, each);
    items.add(std::move(item));
  }
  tree.add(key, std::move(items));
}

Tree fates(const Fates& by_fate) {
  Tree tree = Tree::map();
  for (const auto& [fate, eggs] : by_fate)
    tree.add(std::string(name_of(fate)), std::to_string(eggs));
  return tree;
}

std::int64_t number_at(const Tree& tree, std::string_view key) {
  const std::string_view value = tree.get(key);
  std::int64_t number = 0;
  std::from_chars(value.data(), value.data() + value.size(), number);
  return number;
}
int count_at(const Tree& tree, std::string_view key) {
  return static_cast<int>(std::clamp<std::int64_t>(number_at(tree, key), 0, 1'000'000'000));
}
std::optional<double> decimal_at(const Tree& tree, std::string_view key) {
  const std::string_view value = tree.get(key);
  double number = 0;
  const auto end = std::from_chars(value.data(), value.data() + value.size(), number);
  if (value.empty() || end.ec != std::errc() || !std::isfinite(number) || std::abs(number) > 1e9)
    return std::nullopt;
  return number;
}
std::string text_at(const Tree& tree, std::string_view key) { return std::string(tree.get(key)); }
std::optional<Wall> wall_at(const Tree& tree, std::string_view key) {
  return parse_rfc3339(tree.get(key));
}

Fates fates_at(const Tree& tree, std::string_view key) {
  Fates by_fate;
  const Tree* found = tree.find(key);
  if (found == nullptr) return by_fate;
  for (const auto& [name, unused] : found->members)
    if (const auto fate = fate_named(name))
      if (const int eggs = count_at(*found, name); eggs > 0) by_fate[*fate] = eggs;
  return by_fate;
}

// Entries whose `when` cannot be read are left out.
template <class Each, class Load>
void list_at(const Tree& tree, std::string_view key, std::string_view when, std::vector<Each>& into,
             Load load) {
  const Tree* found = tree.find(key);
  if (found == nullptr) return;
  for (const auto& [unused, item] : found->members) {
    Each each;
    if (!when.empty() && !wall_at(item, when)) continue;
    load(item, each);
    into.push_back(std::move(each));
  }
}

void save_deeds(const BatchRecord& record, Tree& out) {
  list(out, "stages", record.stages, [](Tree& item, const StageBegun& each) {
    wall(item, "at", each.at);
    text(item, "name", each.name);
  });
  list(out, "candlings", record.candlings, [](Tree& item, const Candling& each) {
    wall(item, "at", each.at);
    if (!each.removed.empty()) item.add("removed", fates(each.removed));
    text(item, "by", each.by);
    text(item, "note", each.note);
  });
  list(out, "weighings", record.weighings, [](Tree& item, const Weighing& each) {
    wall(item, "at", each.at);
    decimal(item, "grams", each.grams);
    number(item, "eggs", each.eggs);
    text(item, "by", each.by);
  });
  list(out, "moves", record.moves, [](Tree& item, const Relocation& each) {
    wall(item, "at", each.at);
    text(item, "from", each.from);
    text(item, "to", each.to);
    text(item, "by", each.by);
  });
  list(out, "corrections", record.corrections, [](Tree& item, const Correction& each) {
    wall(item, "at", each.at);
    text(item, "by", each.by);
    text(item, "what", each.what);
  });
}

void save_care(const BatchRecord& record, Tree& out) {
  list(out, "turning", record.turning, [](Tree& item, const TurningDay& each) {
    number(item, "date", each.date);
    number(item, "by_machine", each.by_machine);
    number(item, "by_hand", each.by_hand);
    number(item, "too_short", each.too_short);
    number(item, "too_long", each.too_long);
    number(item, "same_side", each.same_side);
  });
  list(out, "coolings", record.coolings, [](Tree& item, const CoolingDone& each) {
    wall(item, "from", each.from);
    wall(item, "to", each.to);
    if (each.lowest) item.add("lowest", milli_exact(*each.lowest));
    if (each.regained) wall(item, "regained", *each.regained);
    text(item, "verdict", each.verdict);
    text(item, "by", each.by);
  });
}

void load_deeds(const Tree& tree, BatchRecord& record) {
  list_at(tree, "stages", "at", record.stages, [](const Tree& item, StageBegun& each) {
    each = {*wall_at(item, "at"), text_at(item, "name")};
  });
  list_at(tree, "candlings", "at", record.candlings, [](const Tree& item, Candling& each) {
    each = {*wall_at(item, "at"), fates_at(item, "removed"), text_at(item, "by"),
            text_at(item, "note")};
  });
  list_at(tree, "weighings", "at", record.weighings, [](const Tree& item, Weighing& each) {
    each = {*wall_at(item, "at"), decimal_at(item, "grams").value_or(0), count_at(item, "eggs"),
            text_at(item, "by")};
  });
  list_at(tree, "moves", "at", record.moves, [](const Tree& item, Relocation& each) {
    each = {*wall_at(item, "at"), text_at(item, "from"), text_at(item, "to"), text_at(item, "by")};
  });
  list_at(tree, "corrections", "at", record.corrections, [](const Tree& item, Correction& each) {
    each = {*wall_at(item, "at"), text_at(item, "by"), text_at(item, "what")};
  });
}

void load_care(const Tree& tree, BatchRecord& record) {
  list_at(tree, "turning", "", record.turning, [](const Tree& item, TurningDay& each) {
    each = {number_at(item, "date"),     count_at(item, "by_machine"), count_at(item, "by_hand"),
            count_at(item, "too_short"), count_at(item, "too_long"),   count_at(item, "same_side")};
  });
  list_at(tree, "coolings", "from", record.coolings, [](const Tree& item, CoolingDone& each) {
    each.from = *wall_at(item, "from");
    each.to = wall_at(item, "to").value_or(each.from);
    if (const auto lowest = decimal_at(item, "lowest"))
      each.lowest = static_cast<Milli>(std::llround(*lowest * 1000));
    each.regained = wall_at(item, "regained");
    each.verdict = text_at(item, "verdict");
    each.by = text_at(item, "by");
  });
}

}  // namespace

Tree save_record(const BatchRecord& record) {
  Tree out = Tree::map();
  text(out, "id", record.id);
  text(out, "profile", record.profile);
  text(out, "name", record.name);
  text(out, "cabinet", record.cabinet);
  if (record.set_at != Wall{}) wall(out, "set_at", record.set_at);
  if (record.days != 0) decimal(out, "days", record.days);
  number(out, "eggs", record.eggs);
  decimal(out, "stored_days", record.stored_days);
  if (record.set) out.add("set", "true");
  if (record.ended_at) wall(out, "ended_at", *record.ended_at);
  text(out, "ended_by", record.ended_by);
  if (!record.outcome.empty()) out.add("outcome", fates(record.outcome));
  text(out, "note", record.note);
  text(out, "split_from", record.split_from);
  save_deeds(record, out);
  save_care(record, out);
  return out;
}

BatchRecord load_record(const Tree& tree) {
  BatchRecord record;
  record.id = text_at(tree, "id");
  record.profile = text_at(tree, "profile");
  record.name = text_at(tree, "name");
  record.cabinet = text_at(tree, "cabinet");
  record.set_at = wall_at(tree, "set_at").value_or(Wall{});
  record.days = decimal_at(tree, "days").value_or(0);
  record.eggs = count_at(tree, "eggs");
  record.stored_days = decimal_at(tree, "stored_days");
  record.set = tree.get("set") == "true";
  record.ended_at = wall_at(tree, "ended_at");
  record.ended_by = text_at(tree, "ended_by");
  record.outcome = fates_at(tree, "outcome");
  record.note = text_at(tree, "note");
  record.split_from = text_at(tree, "split_from");
  load_deeds(tree, record);
  load_care(tree, record);
  return record;
}

}  // namespace clutchward
