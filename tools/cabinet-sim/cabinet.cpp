#include "cabinet.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "base/check.h"
#include "base/text.h"

namespace clutchward::sim {

namespace {

using namespace std::chrono_literals;

constexpr Span kDay = 24h;
// How often an unchanged mains state is repeated: a watcher that starts late hears it soon.
constexpr Span kPowerRepeat = 10min;

double seconds(Span span) { return std::chrono::duration<double>(span).count(); }

// FNV-1a: gives each cabinet a sequence of its own out of one seed.
std::uint64_t own_seed(std::uint64_t seed, std::string_view id) {
  std::uint64_t hash = 14695981039346656037ull ^ seed;
  for (const char c : id) hash = (hash ^ static_cast<unsigned char>(c)) * 1099511628211ull;
  return hash;
}

std::string number(double value, double resolution) {
  const int decimals = resolution < 0.05 ? 2 : 1;
  const auto steps = std::llround(value / resolution);
  return milli_text(steps * std::llround(resolution * 1000), decimals);
}

}  // namespace

Cabinet::Cabinet(std::string id, const CabinetSettings& settings, const std::vector<Fault>& faults)
    : id_(std::move(id)), settings_(settings), random_(own_seed(settings.seed, id_)) {
  CHECK(settings.interval > 0ms);
  for (const Fault& fault : faults)
    if (fault.cabinet == id_) faults_.push_back(fault);
  for (double& offset : offsets_) offset = settings.offset_k * gauss();
  // Cabinets speak one after another, not all in the same instant.
  next_reading_ = Span(static_cast<Span::rep>(random_() % settings.interval.count()));
  next_turn_ = settings.turn_every > 0ms ? settings.turn_every : Span::max();
  const Inputs inputs = inputs_at(0ms);
  Inputs healthy = inputs;
  healthy.mains = healthy.fan = true;
  healthy.door = 0;
  state_ =
      settings.cold_start ? cold(settings.machine, inputs) : settled(settings.machine, healthy);
}

double Cabinet::day_at(Span time) const { return settings_.day + seconds(time) / seconds(kDay); }

const Fault* Cabinet::running(FaultKind kind, Span time) const {
  for (const Fault& fault : faults_)
    if (fault.kind == kind && fault.from <= time && (!fault.until || time < *fault.until))
      return &fault;
  return nullptr;
}

bool Cabinet::probe_has(FaultKind kind, std::string_view probe) const {
  return std::ranges::any_of(faults_, [&](const Fault& fault) {
    return fault.kind == kind && fault.probe == probe && fault.from <= now_ &&
           (!fault.until || now_ < *fault.until);
  });
}

Inputs Cabinet::inputs_at(Span time) const {
  Inputs in;
  const double turn = 2 * std::numbers::pi * seconds(time) / seconds(kDay);
  in.room_c = settings_.room_c + settings_.room_swing_k * std::sin(turn);
  in.day = day_at(time);
  in.mains = !running(FaultKind::power, time);
  in.fan = !running(FaultKind::fan, time);
  if (const Fault* door = running(FaultKind::door, time)) in.door = door->size;
  if (const Fault* stuck = running(FaultKind::heater_on, time)) in.heater_forced = stuck->size;
  if (running(FaultKind::heater_dead, time)) in.heater_forced = 0;
  in.creep_k = creep_k_;
  return in;
}

Span Cabinet::next() const {
  Span next = std::min(next_reading_, next_turn_);
  for (const Fault& fault : faults_) {
    if (fault.from > now_) next = std::min(next, fault.from);
    if (fault.until && *fault.until > now_) next = std::min(next, *fault.until);
  }
  return next;
}

// No fault begins or ends between now_ and `time`: next() never goes past one.
void Cabinet::go_to(Span time) {
  const double passed = seconds(time - now_);
  if (const Fault* creep = running(FaultKind::creep, now_))
    creep_k_ += creep->size * passed / 3600;
  else
    creep_k_ = 0;
  state_ = advance(settings_.machine, state_, inputs_at(now_), passed);
  now_ = time;
}

void Cabinet::step(std::vector<Message>& out) {
  go_to(next());
  const bool heard = !running(FaultKind::radio, now_);
  std::vector<Message> sent;
  tell_power(sent);
  if (now_ == next_turn_) {
    next_turn_ += settings_.turn_every;
    if (!running(FaultKind::turner, now_) && !running(FaultKind::power, now_))
      sent.push_back({settings_.prefix + "/" + id_ + "/turned", "1"});
  }
  if (now_ == next_reading_) {
    next_reading_ += settings_.interval;
    read_probes(sent);
  }
  if (heard)
    out.insert(out.end(), std::make_move_iterator(sent.begin()),
               std::make_move_iterator(sent.end()));
}

void Cabinet::tell_power(std::vector<Message>& out) {
  const bool mains = !running(FaultKind::power, now_);
  if (power_ == mains && now_ - power_told_ < kPowerRepeat) return;
  // What was said while the radio was dead was not heard: it is said again once it works.
  if (running(FaultKind::radio, now_)) {
    power_.reset();
    return;
  }
  power_ = mains;
  power_told_ = now_;
  out.push_back({settings_.prefix + "/" + id_ + "/power", mains ? "on" : "off"});
}

void Cabinet::read_probes(std::vector<Message>& out) {
  const double half = state_.spread_k / 2;
  const std::array<double, 3> true_c = {state_.air_c + half, state_.air_c, state_.air_c - half};
  const std::string base = settings_.prefix + "/" + id_ + "/";
  std::string object;
  for (std::size_t i = 0; i < true_c.size(); ++i) {
    const std::string_view probe = kProbes[i];
    // Drawn for a dead probe too: a fault changes no other probe's noise.
    const double value = true_c[i] + offsets_[i] + settings_.noise_k * gauss();
    if (last_[i].empty() || !probe_has(FaultKind::probe_frozen, probe))
      last_[i] = number(value, settings_.resolution_k);
    if (probe_has(FaultKind::probe_dead, probe)) continue;
    if (settings_.json)
      object += (object.empty() ? "\"" : ",\"") + std::string(probe) + "\":" + last_[i];
    else
      out.push_back({base + std::string(probe) + "/temperature", last_[i]});
  }
  // Half a percent of noise: a guess at a cheap sensor that has settled.
  const std::string humidity =
      number(std::clamp(humidity_rh(state_) + 0.5 * gauss(), 0.0, 100.0), 0.1);
  if (settings_.json)
    out.push_back(
        {base + "json", "{\"temperature\":{" + object + "},\"humidity\":" + humidity + "}"});
  else
    out.push_back({base + "humidity", humidity});
}

void Cabinet::add(const Fault& fault) {
  if (fault.cabinet == id_) faults_.push_back(fault);
}

void Cabinet::mend(Span now) {
  for (Fault& fault : faults_)
    if (fault.from <= now && (!fault.until || now < *fault.until)) fault.until = now;
}

// Box and Muller's polar-free form; the standard library's normal_distribution may differ from one
// library to the next, and a recording must not.
double Cabinet::gauss() {
  const auto unit = [this] { return (static_cast<double>(random_() >> 11) + 0.5) * 0x1p-53; };
  const double radius = std::sqrt(-2 * std::log(unit()));
  return radius * std::cos(2 * std::numbers::pi * unit());
}

}  // namespace clutchward::sim
