// Who there is: cabinets made known by the configuration, a batch or a message, and their probes.
#include <algorithm>

#include "base/limits.h"
#include "engine/world.h"

namespace clutchward {
namespace {

CabinetWatch& add_cabinet(World& world, const std::string& id) {
  auto cabinet = std::make_unique<CabinetWatch>();
  cabinet->index = static_cast<std::uint32_t>(world.cabinets.size());
  cabinet->id = id;
  cabinet->known_at = world.present.steady;
  CabinetWatch& added = *cabinet;
  world.cabinets.push_back(std::move(cabinet));
  if (!id.empty()) world.cabinet_index.insert(HashIndex::hash_of(id), added.index);
  bind_cabinet(world, added);
  bind_machine_rules(world, added);
  touch(world, added);
  reschedule(world, added);
  return added;
}

Part part_of(const CabinetWatch& cabinet, const std::string& probe) {
  if (cabinet.settings == nullptr) return Part::air;
  const auto found = cabinet.settings->probes.find(probe);
  return found == cabinet.settings->probes.end() ? Part::air : found->second;
}

Milli offset_of(const CabinetWatch& cabinet, const std::string& probe, Quantity quantity) {
  if (cabinet.settings == nullptr || quantity != Quantity::temperature) return 0;
  const auto found = cabinet.settings->offsets.find(probe);
  return found == cabinet.settings->offsets.end() ? 0 : found->second;
}

}  // namespace

const Seldom& CabinetWatch::seldom() const {
  static const Seldom none;
  return seldom_parts ? *seldom_parts : none;
}

Seldom& CabinetWatch::make_seldom() {
  if (!seldom_parts) seldom_parts = std::make_unique<Seldom>();
  return *seldom_parts;
}

World::World(Settings from, Zone in_zone, Moment start, bool is_linked)
    : settings(std::move(from)),
      zone(std::move(in_zone)),
      book(std::make_unique<RuleBook>(settings)),
      present(start),
      linked(is_linked),
      link_changed_at(start.steady),
      spans(ById{this}),
      calendar(ById{this}) {
  add_cabinet(*this, "");
  for (const auto& [id, cabinet] : settings.cabinets) add_cabinet(*this, id);
}

CabinetWatch* find_cabinet(World& world, const std::string& id) {
  const auto found = world.cabinet_index.find(
      HashIndex::hash_of(id), [&](std::uint32_t place) { return world.cabinets[place]->id == id; });
  return found ? world.cabinets[*found].get() : nullptr;
}

std::vector<CabinetWatch*> in_order(World& world) {
  std::vector<CabinetWatch*> all;
  for (auto& cabinet : world.cabinets) all.push_back(cabinet.get());
  std::sort(all.begin(), all.end(),
            [](const CabinetWatch* a, const CabinetWatch* b) { return a->id < b->id; });
  return all;
}

CabinetWatch* cabinet_of(World& world, const std::string& id) {
  if (CabinetWatch* known = find_cabinet(world, id)) return known;
  if (world.cabinet_index.size() >= static_cast<std::size_t>(world.settings.max_cabinets))
    return nullptr;
  return &add_cabinet(world, id);
}

std::uint32_t name_of_probe(World& world, const std::string& name) {
  const auto [found, is_new] =
      world.name_index.try_emplace(name, static_cast<std::uint32_t>(world.names.size()));
  if (is_new) world.names.push_back(name);
  return found->second;
}

std::optional<std::uint32_t> probe_of(World& world, CabinetWatch& cabinet, const std::string& name,
                                      Quantity quantity) {
  if (const auto known = world.name_index.find(name); known != world.name_index.end())
    for (std::uint32_t i = 0; i < cabinet.probes.size(); ++i)
      if (cabinet.probes[i].name == known->second && cabinet.probes[i].quantity == quantity)
        return i;
  if (cabinet.probes.size() >= limits::kProbesPerCabinet) return std::nullopt;
  if (cabinet.settings != nullptr && !cabinet.settings->only.empty() &&
      std::find(cabinet.settings->only.begin(), cabinet.settings->only.end(), name) ==
          cabinet.settings->only.end())
    return std::nullopt;
  Probe probe;
  probe.name = name_of_probe(world, name);
  probe.quantity = quantity;
  probe.part = part_of(cabinet, name);
  probe.offset = offset_of(cabinet, name, quantity);
  cabinet.probes.reserve(cabinet.probes.size() + 1);  // few, and they stay
  cabinet.probes.push_back(probe);
  return static_cast<std::uint32_t>(cabinet.probes.size() - 1);
}

void bind_cabinet(World& world, CabinetWatch& cabinet) {
  const auto found = world.settings.cabinets.find(cabinet.id);
  cabinet.settings = found == world.settings.cabinets.end() ? nullptr : &found->second;
  cabinet.combine = cabinet.settings == nullptr ? Combine::by_count : cabinet.settings->combine;
  for (Probe& probe : cabinet.probes) {
    const std::string& name = world.names[probe.name];
    probe.part = part_of(cabinet, name);
    probe.offset = offset_of(cabinet, name, probe.quantity);
  }
}

const Seen* seen_of(const CabinetWatch& cabinet, Quantity quantity) {
  switch (quantity) {
    case Quantity::temperature:
      return &cabinet.temperature;
    case Quantity::humidity:
      return cabinet.seldom().humidity.get();
    case Quantity::wet_bulb:
      return cabinet.seldom().wet_bulb.get();
    case Quantity::dew_point:
      return cabinet.seldom().dew_point.get();
    default:
      return nullptr;
  }
}

void show(World& world, CabinetWatch& cabinet) {
  if (cabinet.picture_dirty || cabinet.id.empty()) return;
  cabinet.picture_dirty = true;
  world.dirty_pictures.push_back(cabinet.index);
}

void touch(World& world, CabinetWatch& cabinet) {
  show(world, cabinet);
  if (cabinet.state_dirty) return;
  cabinet.state_dirty = true;
  world.dirty_states.push_back(cabinet.index);
}

}  // namespace clutchward
