// Commands on alarms and cabinets: acknowledge to cool; those on batches stand in batch_deeds.cpp.
// Refuses with a sentence and
// changes nothing then.
#include "engine/commands.h"

#include <cmath>

#include "engine/wording.h"
#include "notification/ladder.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

constexpr Span kSnooze = 30min;     // where the person does not say (section 5)
constexpr Span kAttending = 30min;  // section 6
constexpr Span kAttendingMost = 60min;
constexpr Span kOutOfServiceMost = 24h * 366;  // past it the year is wrong
constexpr Span kCoolingMost = 12h;  // longer than the longest airing in the reference tables

std::vector<std::string> ids_of(const World& world) {
  std::vector<std::string> ids;
  for (const auto& cabinet : world.cabinets)
    if (!cabinet->id.empty()) ids.push_back(cabinet->id);
  return ids;
}

// Fractions of minutes, rounded half up to milliseconds; none for what is no number of minutes.
std::optional<Span> span_of(double minutes) {
  if (!std::isfinite(minutes) || std::abs(minutes) > 1e7) return std::nullopt;
  return Span{static_cast<std::int64_t>(std::floor(minutes * 60'000 + 0.5))};
}

struct Target {
  BatchWatch* batch;
  Slot* slot;
};

Result<std::vector<Target>> targets(World&, CabinetWatch& cabinet, const Command& command) {
  std::vector<Target> found;
  std::vector<std::string> batches;
  std::vector<std::string> alarms;
  for (const auto& batch : cabinet.batches) batches.push_back(batch->id);
  if (!command.batch.empty() && find_batch(cabinet, command.batch) == nullptr)
    return Refusal{"no batch " + quoted(command.batch) + " in cabinet " + quoted(cabinet.id) +
                   nearest(command.batch, batches)};
  visit(cabinet, [&](BatchWatch* batch, Slot& slot) {
    if (!command.batch.empty() && (batch == nullptr || batch->id != command.batch)) return;
    alarms.push_back(slot.rule->id);
    if (command.alarm.empty() || command.alarm == slot.rule->id) found.push_back({batch, &slot});
  });
  if (found.empty() && !command.alarm.empty())
    return Refusal{"no alarm " + quoted(command.alarm) + " at " +
                   (command.batch.empty() ? "cabinet " + quoted(cabinet.id)
                                          : "batch " + quoted(command.batch)) +
                   nearest(command.alarm, alarms)};
  return found;
}

LifeInput input_of(Deed deed) {
  switch (deed) {
    case Deed::acknowledge:
      return LifeInput::acknowledge;
    case Deed::snooze:
      return LifeInput::snooze;
    case Deed::unsnooze:
      return LifeInput::unsnooze;
    case Deed::reset:
      return LifeInput::reset;
    case Deed::pass_on:
      return LifeInput::pass_on;
    case Deed::out_of_service:
      return LifeInput::out_of_service;
    default:
      return LifeInput::in_service;
  }
}

// The length of a snooze for this rule, or why it cannot be.
Result<Span> snooze_length(const Rule& rule, const Command& command) {
  if (!command.minutes) return std::min(kSnooze, rule.snooze_max);
  const auto length = span_of(*command.minutes);
  if (!length || *length <= Span{0})
    return Refusal{"minutes must be above 0 and at most " + to_text(rule.snooze_max)};
  if (*length > rule.snooze_max)
    return Refusal{to_text(*length) + " is longer than this alarm may be snoozed: at most " +
                   to_text(rule.snooze_max)};
  return *length;
}

Result<Steady> service_end(const World& world, const Command& command) {
  if (command.until) {
    if (*command.until <= world.present.wall)
      return Refusal{"until is " + to_rfc3339(*command.until) + ", which has passed"};
    if (*command.until > world.present.wall + kOutOfServiceMost)
      return Refusal{"until is " + to_rfc3339(*command.until) +
                     ", more than a year ahead; is the year right?"};
    return world.steady_of(*command.until);
  }
  if (!command.minutes) return Refusal{"until when? give minutes, or until as a time"};
  const auto length = span_of(*command.minutes);
  if (!length || *length <= Span{0} || *length > kOutOfServiceMost)
    return Refusal{"minutes must be above 0 and at most " + to_text(kOutOfServiceMost)};
  return world.present.steady + *length;
}

// The same alarm, raised again since the message that is answered: it is another matter.
bool is_newer(const Life* life, const std::string& episode, const std::string& own) {
  return life != nullptr && life->open && !episode.empty() && episode != own;
}

std::string name_of_alarm(const Target& target) {
  return target.slot->rule->id + (target.batch != nullptr ? " of " + target.batch->id : "");
}

Result<bool> try_one(World& world, CabinetWatch& cabinet, const Target& target,
                     const Command& command, Steady until) {
  Slot& slot = *target.slot;
  if (is_newer(slot.life.get(), command.episode,
               view_of(world, cabinet, target.batch, slot).episode))
    return Refusal{"raised anew since that message: answer the newer one"};
  auto context = context_of(world, cabinet, target.batch, slot, command.by);
  context.until = until;
  context.why = command.reason;
  const LifeInput input = input_of(command.deed);
  if (input == LifeInput::snooze) {
    const bool active = slot.life && slot.life->active;
    const auto length = active ? snooze_length(*slot.rule, command) : Result<Span>(Span{1});
    if (!length) return Refusal{length.why()};
    context.length = *length;
  }
  if (slot.former && input == LifeInput::out_of_service)
    return Refusal{"its rule is no longer in force"};
  // Only what came to be through a command keeps its Life.
  const bool was_normal = slot.life == nullptr;
  const auto event = apply(input, life_of(slot), context);
  if (!event) {
    if (was_normal) slot.life.reset();
    return Refusal{event.why()};
  }
  emit(world, cabinet, target.batch, slot, *event, command.by);
  if (input == LifeInput::in_service) follow(world, cabinet, target.batch, slot);
  tidy(slot);
  return true;
}

// What a person means who names no alarm: one that stands, before what is left of another; of those
// that stand the worst. What may yet come is none.
bool is_meant(const AlarmView& view) {
  return view.active || view.state == AlarmState::latched || view.state == AlarmState::returned;
}
bool says_more(const AlarmView& one, const AlarmView& other) {
  return one.active != other.active ? one.active : worse(one, other);
}

std::string nothing_there(const CabinetWatch& cabinet, Deed deed) {
  const std::string where =
      cabinet.id.empty() ? std::string("the watch itself") : quoted(cabinet.id);
  switch (deed) {
    case Deed::unsnooze:
      return "nothing is snoozed at " + where;
    case Deed::in_service:
      return "nothing is out of service at " + where;
    default:
      return "nothing is raised at " + where + ": there is nothing to " +
             (deed == Deed::pass_on ? "pass on" : std::string(name_of(deed)));
  }
}

Reply on_alarms(World& world, CabinetWatch& cabinet, const Command& command) {
  const auto found = targets(world, cabinet, command);
  if (!found) return refused(command, found.why());
  Steady until = kNever;
  if (command.deed == Deed::out_of_service) {
    const auto end = service_end(world, command);
    if (!end) return refused(command, end.why());
    until = *end;
  }
  std::string why;
  std::optional<AlarmView> speaks;  // whose refusal `why` is
  bool any = false;
  for (const Target& target : *found) {
    const auto done = try_one(world, cabinet, target, command, until);
    any = any || done;
    if (done || any) continue;
    if (found->size() == 1) return refused(command, done.why());
    if (target.slot->life == nullptr) continue;
    AlarmView view = view_of(world, cabinet, target.batch, *target.slot);
    if (!is_meant(view) || (speaks && !says_more(view, *speaks))) continue;
    why = name_of_alarm(target) + ": " + done.why();
    speaks = std::move(view);
  }
  const bool of_one = command.deed != Deed::unsnooze && command.deed != Deed::in_service;
  if (!any) return refused(command, of_one && speaks ? why : nothing_there(cabinet, command.deed));
  after_change(world, cabinet);
  return {command.id, true, ""};
}

Reply attend(World& world, CabinetWatch& cabinet, const Command& command) {
  const auto length = command.minutes ? span_of(*command.minutes) : std::optional(kAttending);
  if (!length || *length <= Span{0} || *length > kAttendingMost)
    return refused(command, "minutes must be above 0 and at most 60: nobody attends for longer");
  cabinet.make_seldom().attending =
      std::make_unique<Attending>(Attending{world.present.steady + *length, command.by});
  renew_suppression(world, cabinet);
  after_change(world, cabinet);
  return {command.id, true, ""};
}

Reply attended(World& world, CabinetWatch& cabinet, const Command& command) {
  if (!cabinet.seldom().attending) return refused(command, "nobody is attending this cabinet");
  cabinet.make_seldom().attending.reset();
  renew_suppression(world, cabinet);
  world.attending_ended.push_back(cabinet.id);
  after_change(world, cabinet);
  return {command.id, true, ""};
}

Reply cool(World& world, CabinetWatch& cabinet, const Command& command) {
  const auto length = command.minutes ? span_of(*command.minutes) : std::nullopt;
  if (!length || *length <= Span{0} || *length > kCoolingMost)
    return refused(command, "for how long? give minutes, above 0 and at most 720");
  cool_by_hand(world, cabinet, *length);
  after_change(world, cabinet);
  return {command.id, true, ""};
}

Reply test_message(World& world, const Command& command) {
  const auto& contacts = world.settings.contacts;
  std::vector<std::string> known;
  for (const auto& [id, unused] : contacts) known.push_back(id);
  if (contacts.empty())
    return refused(command, "the configuration names no contacts: nobody to tell");
  if (!command.contact.empty() && !contacts.contains(command.contact))
    return refused(command,
                   "no contact " + quoted(command.contact) + nearest(command.contact, known));
  world.tests.push_back({command.contact, command.by});
  return {command.id, true, ""};
}

}  // namespace

std::string quoted(const std::string& word) { return "\"" + printable(word, 64) + "\""; }

std::string nearest(const std::string& word, const std::vector<std::string>& known) {
  const std::string near = nearest_word(word, known);
  return near.empty() ? "" : "; did you mean \"" + near + "\"?";
}

Reply refused(const Command& command, std::string why) {
  return {command.id, false, std::move(why)};
}

void after_change(World& world, CabinetWatch& cabinet) {
  cabinet.quiet = false;
  drop_closed_formers(cabinet, nullptr);
  for (auto& batch : cabinet.batches) drop_closed_formers(cabinet, batch.get());
  drop_finished(world, cabinet);
  touch(world, cabinet);
  reschedule(world, cabinet);
}

Reply carry_out(World& world, const Command& command) {
  if (command.deed == Deed::message_test) return test_message(world, command);
  if (is_of_batch(command.deed)) return on_batch(world, command);
  CabinetWatch* cabinet = find_cabinet(world, command.cabinet);
  // The site's own alarm answers without a cabinet.
  if (cabinet == nullptr && command.cabinet.empty() && !command.alarm.empty())
    cabinet = &world.site();
  if (cabinet == nullptr)
    return refused(command, command.cabinet.empty() ? "which cabinet?"
                                                    : "no cabinet " + quoted(command.cabinet) +
                                                          nearest(command.cabinet, ids_of(world)));
  switch (command.deed) {
    case Deed::attend:
      return attend(world, *cabinet, command);
    case Deed::attended:
      return attended(world, *cabinet, command);
    case Deed::cool:
      return cool(world, *cabinet, command);
    case Deed::turned:
      turned(world, *cabinet, false);
      after_change(world, *cabinet);
      return {command.id, true, ""};
    default:
      return on_alarms(world, *cabinet, command);
  }
}

}  // namespace clutchward
