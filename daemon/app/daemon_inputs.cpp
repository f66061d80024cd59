// What comes in: messages, commands, the broker's link, channels' reports, a new configuration, and
// what the watch notices of itself.
#include <unistd.h>

#include <utility>

#include "app/daemon.h"
#include "app/log.h"
#include "config/load.h"
#include "loop/zone_loader.h"
#include "reading/pattern.h"
#include "wire/command_json.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

// A worn card can take seconds over one sync; past this its answer is not waited for any more (our
// own choice).
constexpr Span kSavePatience = 5s;
// Asked again where no proof has come of it, no oftener than the loop looks for one.
constexpr Span kProbePause = 500ms;

const char* const kNotSaved = "THE STATE CANNOT BE SAVED";
const char* const kTakenOver = "SOMEBODY ELSE USES OUR MQTT CLIENT ID";
const char* const kRefused = "THE BROKER REFUSES US";
const char* const kSubscription = "THE BROKER REFUSES A SUBSCRIPTION (";

// Each filter by its own name: a second one that is refused is told, too.
std::string refused_subscription(std::string_view filter) {
  return kSubscription + printable(filter, 60) + ")";
}

}  // namespace

void Daemon::take_messages(Moment now) {
  const Drained drained = inbox_.drain();
  drained.for_each([&](const Incoming& item) {
    switch (item.kind) {
      case Incoming::Kind::reading:
        take_message(item);
        break;
      case Incoming::Kind::command:
        take_command(item);
        break;
      case Incoming::Kind::link:
        take_link(item, now);
        break;
    }
  });
  pause_ = pace_.after_drain(fine_now(), drained.size());
}

void Daemon::take_message(const Incoming& item) {
  if (rings_.any() && rings_.confirm(item.topic, item.payload, item.retained,
                                     {item.stamp.steady, item.stamp.wall, wall_trusted_}))
    return;
  engine_->message(item.topic, item.payload, item.retained,
                   {item.stamp.steady, item.stamp.wall, wall_trusted_});
}

// The engine passes on whatever rings; whether that reaches anybody only the announcer knows.
Reply Daemon::carry_out(const Command& command, bool retained, Moment now) {
  Reply reply = engine_->command(command, retained, now);
  if (!reply.ok || command.deed != Deed::pass_on) return reply;
  for (const AlarmView& alarm : engine_->of_cabinet(command.cabinet)) {
    if (!alarm.active || alarm.acknowledged ||
        (!command.batch.empty() && command.batch != alarm.key.batch) ||
        (!command.alarm.empty() && command.alarm != alarm.key.alarm))
      continue;
    reply.why = announcer_->end_of_steps(alarm, now);
    if (reply.why.empty()) break;  // of this one somebody is told now
  }
  return reply;
}

void Daemon::take_command(const Incoming& item) {
  const auto command = parse_command(item.payload);
  OwedAnswer answer;
  if (command) {
    answer.reply =
        carry_out(*command, item.retained, {item.stamp.steady, item.stamp.wall, wall_trusted_});
  } else {
    answer.reply = {id_of_refused(item.payload), false, command.why()};
  }
  if (!answer.reply.ok) spdlog::warn("command refused: {}", printable(answer.reply.why, 300));
  answer.give = [this, topic = std::string(item.response_topic),
                 correlation = std::string(item.correlation)](const Reply& reply) {
    const std::string text = to_json(reply);
    if (!reply.id.empty()) mqtt_->publish(settings_.broker.base + "/reply/" + reply.id, text);
    if (!topic.empty() && !mqtt_->publish_response(topic, correlation, text))
      spdlog::warn("no response to {}: only below {}/reply/ and clients/", printable(topic),
                   settings_.broker.base);
  };
  answers_.push_back(std::move(answer));
}

void Daemon::take_link(const Incoming& item, Moment now) {
  const std::string why = printable(item.payload, 300);
  const bool was_linked = linked_;
  switch (item.link) {
    case LinkState::connected:
      linked_ = true;
      faults_->ends(kRefused, now);
      faults_->ends(kTakenOver, now);
      broker_trouble_.clear();
      // A broker may come back without its memory: every picture anew.
      rings_.forget_published();
      engine_->show_all();
      spdlog::info("connected to the broker{}{}", why.empty() ? "" : ": ", why);
      break;
    case LinkState::lost:
    case LinkState::unreachable:
      linked_ = false;
      spdlog::warn("no broker: {}", why);
      break;
    case LinkState::refused:
      linked_ = false;
      faults_->begins(kRefused, why, "Check user, password and certificates", Urgency::high, now,
                      Shown::elsewhere);
      break;
    case LinkState::taken_over:
      linked_ = false;
      faults_->begins(kTakenOver, why, "Stop the other, or set broker.client_id", Urgency::high,
                      now, Shown::elsewhere);
      break;
    case LinkState::subscription_refused:
      faults_->begins(refused_subscription(item.topic), printable(item.topic) + ": " + why,
                      "Allow that topic in its access list", Urgency::high, now);
      break;
    case LinkState::subscription_granted:
      faults_->ends(refused_subscription(item.topic), now);
      break;
    case LinkState::publish_refused:
      spdlog::error("the broker does not let us publish to {}: {}", printable(item.topic), why);
      break;
  }
  if (!linked_) broker_trouble_ = why;
  if (linked_ == was_linked) return;
  linked_changed_at_ = item.stamp.steady;
  engine_->link(linked_, {item.stamp.steady, item.stamp.wall, wall_trusted_});
}

// What is not subscribed to any more cannot be refused.
void Daemon::forget_subscriptions(Moment now) {
  std::set<std::string> wanted{refused_subscription(settings_.broker.base + "/command")};
  for (const std::string& filter : filters()) wanted.insert(refused_subscription(filter));
  std::vector<std::string> over;
  for (const auto& [what, fault] : faults_->all())
    if (what.starts_with(kSubscription) && !wanted.contains(what)) over.push_back(what);
  for (const std::string& what : over) faults_->ends(what, now);
}

void Daemon::take_reports(Moment now) {
  for (const DeliveryReport& report : outward_->take_reports()) note_report(report, now);
}

void Daemon::watch_the_watch(const Wake& wake, Moment now) {
  if (wake.has(store_->event())) look_at_the_store();
  if (const auto trouble = saving_trouble(now))
    faults_->begins(kNotSaved,
                    *trouble +
                        ". Alarms are still watched and told from memory, but a restart "
                        "would forget them.",
                    "Look at the disk or card: full or worn?", Urgency::high, now,
                    store_status_.writable ? Shown::as_fault : Shown::elsewhere);
  else
    faults_->ends(kNotSaved, now);

  // The watchdog is fed only while the loop turns and the disk answers. One that says no (full,
  // read only, worn) is told, and no restart mends it: each would forget the alarms that cannot be
  // saved, and a delay longer than the watchdog's would never end.
  if (store_status_.proofs != proofs_fed_ || !store_status_.writable || !watchdog_.interval()) {
    if (watchdog_.feed(now.steady)) {
      proofs_fed_ = store_status_.proofs;
      store_->probe(sign_of_life(now));
      publish_status_line();
    }
  } else if (now.steady >= probe_again_) {
    probe_again_ = now.steady + kProbePause;
    store_->probe(sign_of_life(now));
  }
  give_sign_of_life(now);
}

void Daemon::look_at_the_store() {
  // Emptied first: what changes behind this look wakes the loop again.
  std::uint64_t count = 0;
  [[maybe_unused]] const ssize_t got = ::read(store_->event(), &count, sizeof count);
  store_status_ = store_->status();
  for (const std::string& note : store_->take_notes())
    spdlog::warn("state: {}", printable(note, 500));
}

// Why what is decided now may be forgotten by a restart; none where all is well.
std::optional<std::string> Daemon::saving_trouble(Moment now) {
  const std::uint64_t saved = store_->saved();
  if (saved != saved_seen_ || saved == turn_) saved_moved_at_ = now.steady;
  saved_seen_ = saved;
  if (!store_status_.writable) return store_status_.trouble;
  if (now.steady - saved_moved_at_ < kSavePatience) return std::nullopt;
  return "the disk has not answered for " + to_text(kSavePatience);
}

// A batch that a slip of the editor took out is eggs that nobody watches.
void Daemon::tell_of_changed_batches(Moment now) {
  std::string all;
  for (const std::string& each : engine_->take_news()) {
    spdlog::warn("{}", printable(each, 500));
    all += (all.empty() ? "" : ". ") + printable(each, 500);
  }
  if (!all.empty())
    faults_->once("THE NEW CONFIGURATION CHANGES BATCHES", all + ".", "Look whether that was meant",
                  Urgency::medium, now);
}

void Daemon::reload(Moment now) {
  service_reloading();
  Loaded loaded = load_settings(options_.config, options_.profiles);
  for (const Problem& warning : loaded.warnings) spdlog::warn("{}", to_text(warning));
  if (!loaded.problems.empty()) {
    for (const Problem& problem : loaded.problems) spdlog::error("{}", to_text(problem));
    spdlog::error("the new configuration has {} faults: the old one is kept",
                  loaded.problems.size());
  } else if (loaded.settings.timezone != settings_.timezone ||
             loaded.settings.broker != settings_.broker) {
    spdlog::error("a change of timezone or broker needs a restart: the old configuration is kept");
  } else {
    deliveries_.configure(settings_, loaded.settings);
    settings_ = std::move(loaded.settings);
    serve_page(now);
    options_.profile_files = std::move(loaded.profile_files);
    engine_->configure(settings_, zone_, now);
    tell_of_changed_batches(now);
    start_history();
    announcer_->configure(settings_, zone_);
    outward_->configure(settings_);
    replies_.configure(settings_);
    beats_.configure(settings_);
    rings_.configure(settings_);
    rings_seen_ = ~std::uint64_t{0};
    rounds_at_ = {};
    outside_->configure(beats_.channels(settings_.site));
    mqtt_->subscribe_to(filters());
    forget_subscriptions(now);
    settings_.forget_batches();
    spdlog::info("the new configuration is in force");
  }
  service_ready();
}

}  // namespace clutchward
