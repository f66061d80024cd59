// Faults of the watch itself that time shows: a channel through which nothing gets or that is slow,
// what was lost because too much came, a clock that was set or that nobody vouches for, a loop that
// turned late.
#include <algorithm>

#include "app/daemon.h"
#include "app/log.h"
#include "base/text.h"
#include "notification/duty.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

// Counts of what was lost are looked at so often; an overflow is over when for so long nothing more
// was lost.
constexpr Span kLook = 10s;
constexpr Span kLossOver = 10min;
// Fails are minutes long, and this must not be asked at every message.
constexpr Span kChannelLook = 1s;
// A machine without a clock of its own has had the time from the network by then.
constexpr Span kClockMayBeUnset = 2min;
// Smaller steps are in the log only: no keeper minds them.
constexpr Span kStepTold = 1min;
// The loop looks at itself every ten seconds (kIdle of daemon.cpp); the rest is not explained by
// a busy machine.
constexpr Span kLate = 15s;
constexpr Span kLateOver = 10min;

// Before the channel's name: a second one that fails is told as well.
const char* const kChannel = "A CHANNEL FAILS (";
const char* const kSlow = "A CHANNEL IS SLOW (";
const char* const kReadings = "READINGS ARE LOST";
const char* const kMessages = "MESSAGES WERE THROWN AWAY";
const char* const kCabinets = "SOME CABINETS ARE NOT WATCHED";
const char* const kClock = "THE CLOCK IS NOT SET";
const char* const kStepped = "THE CLOCK WAS STEPPED";
const char* const kReplies = "REPLIES BY MAIL ARE NOT READ";
// A mail server that is being put right, or a line that is down for a while.
constexpr Span kRepliesFail = 15min;
const char* const kPace = "THE WATCH RUNS LATE";
const char* const kPage = "THE PAGE IS NOT SERVED AS CONFIGURED";
// Its address may come up after us, its certificate be renewed in two steps.
constexpr Span kPageAgain = 30s;

}  // namespace

bool Daemon::rose(Losses& losses, std::uint64_t count, Steady now) {
  if (count == losses.seen) return false;
  losses = {count, now};
  return true;
}

void Daemon::watch_the_limits(Moment now) {
  if (now.steady < limits_at_) return;
  limits_at_ = now.steady + kLook;
  const auto watch = [&](Losses& losses, std::uint64_t count, const char* what,
                         const std::string& detail, const char* to_do) {
    if (rose(losses, count, now.steady))
      faults_->begins(what, detail, to_do, Urgency::high, now);
    else if (faults_->stands(what) && now.steady - losses.at >= kLossOver)
      faults_->seems_over(what, now);
  };
  const std::uint64_t readings = inbox_.dropped_readings() + inbox_.dropped_commands();
  watch(readings_lost_, readings, kReadings,
        "More messages come than can be taken: " + std::to_string(readings) +
            " were dropped since the start, the newest first. Alarms may come late.",
        "Find what floods the broker");
  watch(messages_lost_, announcer_->dropped(), kMessages,
        "So many messages wait that " + std::to_string(announcer_->dropped()) +
            " were thrown away since the start, the least urgent first.",
        "Look why no channel takes them");
  const std::uint64_t turned_away = engine_->counts().turned_away;
  watch(cabinets_lost_, turned_away, kCabinets,
        std::to_string(turned_away) + " messages of more cabinets than max_cabinets allows (" +
            std::to_string(settings_.max_cabinets) + ") were turned away since the start.",
        "Raise max_cabinets, or find the stranger");
}

void Daemon::watch_the_channels(Moment now) {
  if (now.steady < channels_at_) return;
  channels_at_ = now.steady + kChannelLook;
  const auto name = [](const char* start, const Deliveries::Bad& one) {
    return start + printable(one.contact, 60) + " by " + one.way + ")";
  };
  const WatchSettings& limits = settings_.watch;
  std::set<std::string> failing;
  std::string news;
  for (const auto& one : deliveries_.failing(settings_, limits.channel_fails, now.steady)) {
    const std::string what = name(kChannel, one);
    failing.insert(what);
    const std::string detail = "Nothing has got through to " + one.contact + " by " + one.way +
                               " for " + to_text(limits.channel_fails) +
                               " although it was tried: " + printable(one.trouble, 300);
    if (!faults_->stands(what)) news += detail + "\n";
    faults_->begins(what, detail, "Look at network, address, password", Urgency::medium, now,
                    Shown::elsewhere);
  }
  faults_->ends_but(kChannel, failing, now);
  for (const auto& one : deliveries_.working(settings_)) faults_->ends(name(kChannel, one), now);
  if (!news.empty()) tell_past_dead_channels(news, now);

  std::set<std::string> slow;
  for (const auto& one : deliveries_.slow(settings_, limits.channel_slow)) {
    slow.insert(name(kSlow, one));
    faults_->begins(name(kSlow, one),
                    "The last message to " + one.contact + " by " + one.way + " took " +
                        one.trouble + " until it was taken: alarms come late that way.",
                    "Look at the network and its server", Urgency::low, now);
  }
  faults_->ends_but(kSlow, slow, now);
}

// The first step has been told over what works of its channels. Where nothing does, everyone else
// is.
void Daemon::tell_past_dead_channels(const std::string& detail, Moment now) {
  if (settings_.escalation.empty()) return;
  std::map<std::string, std::size_t> dead;  // channels by contact
  for (const auto& one : deliveries_.failing(settings_, settings_.watch.channel_fails, now.steady))
    ++dead[one.contact];
  const auto reached = [&](const std::string& contact) {
    const auto channels = settings_.contacts.find(contact);
    return channels != settings_.contacts.end() && dead[contact] < channels->second.size();
  };
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

void Daemon::serve_page(Moment now) {
  const auto refusal = web_->serve_page({settings_.page, settings_.people, settings_.site});
  page_again_ = refusal ? std::optional(now.steady + kPageAgain) : std::nullopt;
  if (refusal)
    faults_->begins(kPage, refusal->why + ". As far as it can be, it is served as it was before.",
                    "Look at page: in the configuration", Urgency::medium, now);
  else
    faults_->ends(kPage, now);
}

// What could not be had at the start may be there later.
void Daemon::look_after_the_page(Moment now) {
  if (page_again_ && now.steady >= *page_again_) serve_page(now);
}

void Daemon::take_replies(Moment now) {
  replies_.take(*engine_, *announcer_, settings_, zone_, now);
  const std::string trouble = replies_.trouble();
  if (trouble != replies_trouble_) {
    if (trouble.empty())
      spdlog::info("replies by mail are read");
    else
      spdlog::warn("replies by mail are not read: {}", trouble);
    replies_trouble_ = trouble;
  }
  if (trouble.empty()) {
    replies_failing_since_.reset();
    faults_->seems_over(kReplies, now);
    return;
  }
  if (!replies_failing_since_) replies_failing_since_ = now.steady;
  if (now.steady - *replies_failing_since_ >= kRepliesFail)
    faults_->begins(kReplies, trouble + ". Alarms are told all the same.",
                    "Look at the mail server, the user and the password", Urgency::low, now);
}

void Daemon::watch_the_clock(Moment now) {
  if (now.wall_trusted)
    faults_->ends(kClock, now);
  else if (now.steady - started_ >= kClockMayBeUnset)
    faults_->begins(kClock,
                    "The clock shows " + to_rfc3339(now.wall) +
                        ", and no time service vouches for it. Delays and alarms run on; "
                        "the daily line, tasks and hours of the day wait.",
                    "Look at the network and the time service", Urgency::medium, now,
                    Shown::elsewhere);
  if (!stepped_) return;
  const Span step = *stepped_;
  stepped_.reset();
  if (std::chrono::abs(step) < kStepTold) return;
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
    faults_->seems_over(kPace, now);
  }
}

}  // namespace clutchward
