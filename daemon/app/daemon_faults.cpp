// Faults of the watch itself that time shows: a channel through which nothing gets, a clock that
// was set or that nobody vouches for, a loop that turned late.
#include <algorithm>

#include "app/daemon.h"
#include "base/text.h"
#include "notification/duty.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

constexpr Span kChannelFails = 10min;
// A machine without a clock of its own has had the time from the network by then.
constexpr Span kClockMayBeUnset = 2min;
// Smaller steps are in the log only: no keeper minds them.
constexpr Span kStepTold = 1min;
// The loop looks at itself every ten seconds (kIdle of daemon.cpp); the rest is not explained by
// a busy machine.
constexpr Span kLate = 15s;
constexpr Span kLateOver = 10min;

const char* const kChannel = "A CHANNEL FAILS";
const char* const kClock = "THE CLOCK IS NOT SET";
const char* const kStepped = "THE CLOCK WAS STEPPED";
const char* const kPace = "THE WATCH RUNS LATE";

}  // namespace

void Daemon::watch_the_channels(Moment now) {
  const auto failing = deliveries_.failing(settings_, kChannelFails, now.steady);
  if (failing.empty()) {
    faults_->ends(kChannel, now);
    return;
  }
  if (faults_->stands(kChannel)) return;
  std::string detail =
      "Nothing has got through for " + to_text(kChannelFails) + " although it was tried:\n";
  std::map<std::string, std::size_t> dead;  // channels by contact
  for (const auto& one : failing) {
    ++dead[one.contact];
    detail += "- " + one.contact + " by " + one.kind + ": " + printable(one.trouble, 300) + "\n";
  }
  faults_->begins(kChannel, detail, "Look at the network, the address and the password",
                  Urgency::medium, now);
  // The first step has been told over what works of its channels. Where nothing does, everyone
  // else is.
  const auto reached = [&](const std::string& contact) {
    const auto channels = settings_.contacts.find(contact);
    return channels != settings_.contacts.end() && dead[contact] < channels->second.size();
  };
  if (settings_.escalation.empty()) return;
  const auto first = Duty(settings_, zone_, now).people(settings_.escalation.front().notify);
  if (std::any_of(first.begin(), first.end(), reached)) return;
  std::vector<std::string> others;
  for (const auto& [contact, channels] : settings_.contacts)
    if (reached(contact)) others.push_back(contact);
  Notification note;
  note.first_line = to_ascii("A CHANNEL FAILS: the first to be told cannot be reached");
  note.message = detail + "\nAlarms reach you only by the later steps until this is put right.\n";
  note.urgency = Urgency::medium;
  note.thread = "service";
  announcer_->tell_people(others, note, now);
}

void Daemon::watch_the_clock(Moment now) {
  if (now.wall_trusted)
    faults_->ends(kClock, now);
  else if (now.steady - started_ >= kClockMayBeUnset)
    faults_->begins(kClock,
                    "The clock shows " + to_rfc3339(now.wall) +
                        ", and no time service vouches for it. Delays and alarms run on; "
                        "the daily line, tasks and hours of the day wait.",
                    "Look at the network and the time service", Urgency::medium, now);
  if (!stepped_) return;
  const Span step = *stepped_;
  stepped_.reset();
  // The first setting of a clock that nobody trusted is what was waited for.
  if (!now.wall_trusted || std::chrono::abs(step) < kStepTold) return;
  faults_->once(kStepped,
                "It was set " + std::string(step < Span{0} ? "back" : "forward") + " by " +
                    to_text(std::chrono::abs(step)) +
                    ". Delays and snoozes run on unharmed; hours of the day follow the new time.",
                "Check the time", Urgency::low, now);
}

void Daemon::watch_the_pace(Moment now) {
  const Span gap = last_turn_ ? now.steady - *last_turn_ : Span{0};
  last_turn_ = now.steady;
  if (gap >= kLate) {
    late_at_ = now.steady;
    faults_->begins(
        kPace, "It did not look for " + to_text(gap) + ": what happened meanwhile is told late.",
        "Look at the machine: overloaded, asleep or its card worn?", Urgency::medium, now);
  } else if (now.steady - late_at_ >= kLateOver) {
    faults_->ends(kPace, now);
  }
}

}  // namespace clutchward
