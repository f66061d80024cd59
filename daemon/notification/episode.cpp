// Steps and reminders of one announced alarm. It refuses to know whether the alarm still rings: the
// caller looks.
#include "notification/episode.h"

#include <algorithm>

namespace clutchward {

using namespace std::chrono_literals;

Steps steps_of(const Settings& settings) {
  Steps steps = settings.escalation;
  if (steps.empty() || !settings.everyone_after) return steps;
  std::vector<std::string> everyone;
  for (const auto& [contact, channels] : settings.contacts) everyone.push_back(contact);
  // One person who is told everything already hears reminders; he needs no step of his own.
  const auto known = [&](const std::string& contact) {
    return std::find(steps[0].notify.begin(), steps[0].notify.end(), contact) !=
           steps[0].notify.end();
  };
  if (std::all_of(everyone.begin(), everyone.end(), known)) return steps;
  steps.push_back({steps.back().after + *settings.everyone_after, std::move(everyone), true});
  return steps;
}

void Episode::start(Priority priority, std::optional<Wall> turns_high_at, Moment now) {
  running = true;
  on_hold = false;
  folded = false;
  announced_at = now.steady;
  steps_told = 0;
  reminders = 0;
  const auto interval = reminder_interval(priority, 0);
  next_reminder = interval ? std::optional(now.steady + *interval) : std::nullopt;
  // What turns high while it waits is told again there, and as often as high from then on.
  if (turns_high_at) {
    const Steady then = now.steady + std::max(Span{0}, *turns_high_at - now.wall);
    next_reminder = next_reminder ? std::min(*next_reminder, then) : then;
  }
  passed_by.clear();
  end_told = false;
  for (Told& one : told) one.lately = false;
  for (Attempt& one : attempts) one.failed = false;
}

void Episode::stop() {
  running = false;
  on_hold = false;
  folded = false;
  next_reminder.reset();
}

void Episode::gather(const AlarmEvent& event) {
  // An alarm that comes and goes within one gathering shows its last turns (our own choice).
  constexpr std::size_t kShown = 8;
  if (gathered.size() >= kShown) gathered.erase(gathered.begin());
  gathered.push_back(event);
}

std::optional<Steady> Episode::next_step(const Steps& steps) const {
  if (steps_told >= steps.size()) return std::nullopt;
  return announced_at + steps[steps_told].after;
}

std::optional<Steady> Episode::next_deadline(const Steps& steps) const {
  if (!running || on_hold) return std::nullopt;
  if (folded) return next_reminder;
  const auto step = next_step(steps);
  if (!step) return next_reminder;
  return next_reminder ? std::min(*step, *next_reminder) : *step;
}

Called Episode::take_due_steps(const Steps& steps, const Duty& duty, Priority priority,
                               Moment now) {
  Called called;
  while (steps_told < steps.size()) {
    const EscalationStep& step = steps[steps_told];
    const bool due = announced_at + step.after <= now.steady;
    if (!due && !called.nobody) break;
    const Called here = duty.call(step.notify, priority, step.everyone && due);
    called.add(here);
    called.nobody = here.nobody;
    // Those of everyone who are there hear of it now; it stands at its time for all the same.
    if (!due && step.everyone) break;
    ++steps_told;
  }
  return called;
}

Called Episode::take_next_step(const Steps& steps, const Duty& duty, Priority priority) {
  Called called;
  while (steps_told < steps.size()) {
    const EscalationStep& step = steps[steps_told++];
    const Called here = duty.call(step.notify, priority, step.everyone);
    called.add(here);
    called.nobody = here.nobody;
    if (!here.nobody) break;
  }
  return called;
}

bool Episode::somebody_left(const Steps& steps, const Duty& duty, Priority priority) const {
  Episode trial = *this;
  const Called next = trial.take_next_step(steps, duty, priority);
  return !next.now.empty() || !next.later.empty();
}

std::vector<std::string> Episode::reminded() const {
  std::vector<std::string> contacts;
  for (const Told& one : told)
    if (one.lately && std::find(passed_by.begin(), passed_by.end(), one.contact) == passed_by.end())
      contacts.push_back(one.contact);
  return contacts;
}

std::vector<std::string> Episode::told_contacts() const {
  std::vector<std::string> contacts;
  for (const Told& one : told) contacts.push_back(one.contact);
  return contacts;
}

void Episode::note_told(const std::string& contact) {
  const auto found = std::find_if(told.begin(), told.end(),
                                  [&](const Told& one) { return one.contact == contact; });
  if (found == told.end())
    told.push_back({contact, true});
  else
    found->lately = true;
}

Episode::Attempt* Episode::attempt(const std::string& contact, int channel) {
  for (Attempt& one : attempts)
    if (one.contact == contact && one.channel == channel) return &one;
  return nullptr;
}

void Episode::note_attempt(const std::string& contact, int channel, std::string_view way, Wall at) {
  Attempt* found = attempt(contact, channel);
  if (found == nullptr) {
    found = &attempts.emplace_back();
    found->first_at = at;
  }
  found->contact = contact;
  found->channel = channel;
  found->way = way;
  found->at = at;
  found->taken_at.reset();
}

void Episode::hold_for(Held held) {
  for (Held& one : held_for) {
    if (one.contact != held.contact || one.hours != held.hours) continue;
    if (held.reason != Reason::reminder) one = std::move(held);
    return;
  }
  held_for.push_back(std::move(held));
}

bool Episode::forget_hours(const std::string& contact) {
  return std::erase_if(held_for,
                       [&](const Held& one) { return one.hours && one.contact == contact; }) != 0;
}

std::optional<Span> reminder_interval(Priority priority, int sent) {
  constexpr int kOften = 10;
  switch (priority) {
    case Priority::low:
      return std::nullopt;
    case Priority::medium:
      return 1h;
    case Priority::high:
      return sent < kOften ? 3min : 10min;
  }
  return std::nullopt;
}

bool is_over(const Episode& episode, const AlarmView& view) {
  return view.state == AlarmState::normal && !view.active && !episode.waits();
}

void add_contact(std::vector<std::string>& contacts, const std::string& contact) {
  if (std::find(contacts.begin(), contacts.end(), contact) == contacts.end())
    contacts.push_back(contact);
}

Tree tree_of(const Episode& episode, const kept::Clocks& clocks) {
  Tree tree = kept::tree_of(episode.key);
  tree.add("episode", Tree(episode.episode));
  tree.add("last_event", kept::tree_of(episode.last_event));
  if (episode.running) tree.add("running", Tree("yes"));
  if (episode.on_hold) tree.add("on_hold", Tree("yes"));
  if (episode.folded) tree.add("folded", Tree("yes"));
  tree.add("announced_at", Tree(to_rfc3339(clocks.wall_of(episode.announced_at))));
  tree.add("steps_told", kept::number(static_cast<std::int64_t>(episode.steps_told)));
  tree.add("reminders", kept::number(episode.reminders));
  if (episode.next_reminder)
    tree.add("next_reminder", Tree(to_rfc3339(clocks.wall_of(*episode.next_reminder))));
  Tree told = Tree::list();
  for (const Episode::Told& one : episode.told) {
    Tree item = Tree::map();
    item.add("contact", Tree(one.contact));
    if (one.lately) item.add("lately", Tree("yes"));
    told.add(std::move(item));
  }
  tree.add("told", std::move(told));
  tree.add("passed_by", kept::strings(episode.passed_by));
  if (episode.end_told) tree.add("end_told", Tree("yes"));
  tree.add("gathered", kept::tree_of(episode.gathered));
  if (episode.held_loud) tree.add("held_loud", kept::tree_of(*episode.held_loud));
  tree.add("held_quiet", kept::tree_of(episode.held_quiet));
  Tree attempts = Tree::list();
  for (const Episode::Attempt& one : episode.attempts) {
    Tree item = Tree::map();
    item.add("contact", Tree(one.contact)).add("channel", kept::number(one.channel));
    item.add("way", Tree(one.way));
    item.add("first_at", Tree(to_rfc3339(one.first_at)));
    item.add("at", Tree(to_rfc3339(one.at)));
    if (one.taken_at) item.add("taken_at", Tree(to_rfc3339(*one.taken_at)));
    if (one.failed) item.add("failed", Tree("yes"));
    if (!one.last_answer.empty()) item.add("last_answer", Tree(one.last_answer));
    attempts.add(std::move(item));
  }
  tree.add("attempts", std::move(attempts));
  Tree held = Tree::list();
  for (const Episode::Held& one : episode.held_for) {
    Tree item = Tree::map();
    item.add("contact", Tree(one.contact));
    item.add("reason", Tree(std::string(kReasonNames[static_cast<std::size_t>(one.reason)])));
    if (!one.by.empty()) item.add("by", Tree(one.by));
    if (one.reminder != 0) item.add("reminder", kept::number(one.reminder));
    if (one.hours) item.add("hours", Tree("yes"));
    held.add(std::move(item));
  }
  if (!episode.held_for.empty()) tree.add("held_for", std::move(held));
  if (!episode.chatter.raised.empty()) tree.add("chatter", tree_of(episode.chatter, clocks));
  return tree;
}

namespace {

void read_people(const Tree& tree, Episode& episode) {
  for (const auto& [unused, item] : kept::items(tree, "told"))
    episode.told.push_back({kept::text(item, "contact"), kept::yes(item, "lately")});
  for (const auto& [unused, item] : kept::items(tree, "attempts")) {
    const auto at = kept::wall(item, "at");
    if (!at) continue;
    Episode::Attempt one;
    one.contact = kept::text(item, "contact");
    one.channel = static_cast<int>(kept::number(item, "channel"));
    one.way = kept::text(item, "way");
    one.first_at = kept::wall(item, "first_at").value_or(*at);
    one.at = *at;
    one.taken_at = kept::wall(item, "taken_at");
    one.failed = kept::yes(item, "failed");
    one.last_answer = kept::text(item, "last_answer");
    episode.attempts.push_back(std::move(one));
  }
}

void read_held(const Tree& tree, Episode& episode) {
  for (const auto& [unused, item] : kept::items(tree, "held_for")) {
    const auto reason = kept::word(item, "reason", kReasonNames);
    const std::int64_t reminder = kept::number(item, "reminder");
    if (reason && item.find("contact") != nullptr)
      episode.held_for.push_back(
          {kept::text(item, "contact"), static_cast<Reason>(*reason), kept::text(item, "by"),
           static_cast<int>(std::clamp<std::int64_t>(reminder, 0, 1'000'000)),
           kept::yes(item, "hours")});
  }
}

}  // namespace

std::optional<Episode> episode_of(const Tree& tree, const kept::Clocks& clocks) {
  const Tree* last = tree.find("last_event");
  auto event = last != nullptr ? kept::event_of(*last) : std::nullopt;
  const auto announced_at = kept::steady(tree, "announced_at", clocks);
  if (!event || !announced_at) return std::nullopt;
  Episode episode;
  episode.key = kept::key_of(tree);
  episode.episode = kept::text(tree, "episode");
  episode.last_event = std::move(*event);
  episode.running = kept::yes(tree, "running");
  episode.on_hold = kept::yes(tree, "on_hold");
  episode.folded = kept::yes(tree, "folded");
  episode.announced_at = *announced_at;
  const std::int64_t steps = kept::number(tree, "steps_told");
  episode.steps_told = static_cast<std::size_t>(std::clamp<std::int64_t>(steps, 0, 1'000'000));
  const std::int64_t reminders = kept::number(tree, "reminders");
  episode.reminders = static_cast<int>(std::clamp<std::int64_t>(reminders, 0, 1'000'000));
  episode.next_reminder = kept::steady(tree, "next_reminder", clocks);
  episode.passed_by = kept::strings(tree, "passed_by");
  episode.end_told = kept::yes(tree, "end_told");
  episode.gathered = kept::events_of(tree, "gathered");
  if (const Tree* held = tree.find("held_loud")) episode.held_loud = kept::event_of(*held);
  episode.held_quiet = kept::events_of(tree, "held_quiet");
  read_people(tree, episode);
  read_held(tree, episode);
  if (const Tree* chatter = tree.find("chatter")) episode.chatter = chatter_of(*chatter, clocks);
  return episode;
}

}  // namespace clutchward
