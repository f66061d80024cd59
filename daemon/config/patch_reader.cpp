// Reads one rule key by key: the kind and the quantity first, since the rest hangs on them.
#include "config/patch_reader.h"

#include <algorithm>

#include "config/values.h"

namespace clutchward {

namespace {

const std::vector<std::string>& kind_names() {
  static const std::vector<std::string> names(kRuleKindNames.begin(), kRuleKindNames.end());
  return names;
}

const std::vector<std::string> kKeys = {
    "kind",        "quantity", "limit",      "offset",   "deadband",   "delay",
    "clear_delay", "latch",    "snooze_max", "priority", "worse_by",   "acknowledge_holds",
    "warm_up",     "machine",  "after",      "missed",   "high_after", "fall",
    "deepest",     "longest",  "rise",       "average",  "by_third",   "window",
    "ahead",       "towards",  "lambda",     "sigmas",   "at_least",   "learn",
    "lag",         "confirm",  "bad",        "frozen",   "alone"};

std::vector<std::string> signal_names() { return {kSignalNames.begin(), kSignalNames.end()}; }

bool compares(RuleKind kind) { return kind == RuleKind::above || kind == RuleKind::below; }

// Keys that only some kinds have; the others fit any rule (alarm-semantics, section 7).
std::vector<RuleKind> kinds_with(std::string_view key) {
  using enum RuleKind;
  if (key == "worse_by" || key == "confirm" || key == "lag" || key == "average")
    return {above, below};
  if (key == "quantity") return {above, below, signal};
  if (key == "offset") return {above, below, rate};
  if (key == "limit") return {above, below, spread, rate};
  if (key == "window" || key == "ahead" || key == "towards") return {rate};
  if (key == "at_least") return {rate, trend};
  if (key == "lambda" || key == "sigmas" || key == "learn") return {trend};
  if (key == "bad") return {signal};
  if (key == "frozen" || key == "alone") return {probe};
  if (key == "after") return {silent, broker, probe, all_silent, lid};
  if (key == "fall" || key == "deepest" || key == "longest") return {cooling};
  if (key == "rise") return {lid};
  if (key == "by_third") return {turning};
  if (key == "missed") return {turning};
  if (key == "high_after") return {power};
  return {};
}

// Reads the keys of one rule. The kind and the quantity come first: units hang on them.
using namespace std::chrono_literals;

class PatchReader {
 public:
  PatchReader(const Section& section, const Below& below) : section_(section), below_(below) {}

  ReadPatch read(const std::function<std::vector<std::string>()>& known) {
    read_kind(known);
    if (!kind_) return {{}, std::nullopt, false};
    read_quantity();
    refuse_foreign_keys();
    read_limits();
    read_measures();
    read_airing();
    read_early();
    read_spans();
    read_rest();
    return {patch_, kind_, good_};
  }

 private:
  bool has_target() const {
    return quantity_ == Quantity::temperature || quantity_ == Quantity::egg;
  }

  // Keeps what a reader returned, or remembers that it failed.
  template <class T, class U>
  void keep(std::optional<T>& into, const std::optional<U>& value) {
    if (value) {
      into = *value;
    } else {
      good_ = false;
    }
  }

  void refuse(std::string_view key, std::string what) {
    section_.field().faults.add(section_.place(key), std::move(what));
    good_ = false;
  }

  void refuse_missing_kind(const std::function<std::vector<std::string>()>& known) {
    const Field& field = section_.field();
    const std::string missing = section_.path("kind") + " is missing, and ";
    if (below_.known) {
      field.refuse(missing + "the rule was turned off in a lower layer; expected " +
                   one_of(kind_names()));
      return;
    }
    const std::string id = field.path.substr(field.path.rfind('.') + 1);
    field.refuse(missing + "no built-in rule has this name; expected " + one_of(kind_names()) +
                 field.faults.did_you_mean(id, known()));
  }

  void read_kind(const std::function<std::vector<std::string>()>& known) {
    kind_ = below_.kind;
    const std::optional<Field> field = section_.find("kind");
    if (!field) {
      if (!kind_) refuse_missing_kind(known);
      return;
    }
    const std::optional<std::size_t> index = read_choice(*field, kind_names());
    if (!index) {
      kind_.reset();
      return;
    }
    patch_.kind = static_cast<RuleKind>(*index);
    if (kind_ && *kind_ != *patch_.kind) {
      field->refuse(field->path + " is " + field->found() + "; expected " +
                    std::string(name_of(*kind_)) +
                    ", which this rule is already (a rule of your own needs a name of its own)");
      kind_.reset();
      return;
    }
    kind_ = patch_.kind;
  }

  void read_quantity() {
    quantity_ = below_.quantity.value_or(Quantity::temperature);
    const std::optional<Field> field = section_.find("quantity");
    if (*kind_ == RuleKind::signal) return read_signal(field);
    if (!field || !compares(*kind_)) return;
    static const std::vector<std::string> kCompared = {"temperature", "humidity", "wet_bulb",
                                                       "egg"};
    const std::optional<std::size_t> index = read_choice(*field, kCompared);
    if (!index) {
      good_ = false;
      return;
    }
    const Quantity said = *quantity_named(kCompared[*index]);
    if (below_.kind && said != quantity_) {
      field->refuse(field->path + " is " + field->found() + "; expected " +
                    std::string(name_of(quantity_)) + ", which this rule watches already");
      good_ = false;
      return;
    }
    patch_.quantity = said;
    quantity_ = said;
  }

  // The on/off quantity that a rule of kind signal watches: any name that no other quantity has.
  void read_signal(const std::optional<Field>& field) {
    quantity_ = Quantity::signal;
    const std::string expected = "an on/off quantity such as " + one_of(signal_names());
    if (!field) {
      if (!below_.signal) {
        section_.field().refuse(section_.path("quantity") + " is missing; expected " + expected);
        good_ = false;
      }
      return;
    }
    const auto name = read_id(*field, "an on/off quantity");
    if (name && quantity_named(*name)) field->fault(expected);
    if (!name || quantity_named(*name)) {
      good_ = false;
      return;
    }
    patch_.early.signal = *name;
  }

  void refuse_foreign_keys() {
    for (const std::string& key : kKeys) {
      const std::vector<RuleKind> kinds = kinds_with(key);
      if (kinds.empty() || !section_.has(key)) continue;
      if (std::find(kinds.begin(), kinds.end(), *kind_) != kinds.end()) continue;
      std::vector<std::string> names;
      for (RuleKind kind : kinds) names.emplace_back(name_of(kind));
      refuse(key, section_.path(key) + " does not belong to a rule of kind " +
                      std::string(name_of(*kind_)) + "; expected it with kind " + one_of(names) +
                      " only");
    }
  }

  std::optional<Field> find(std::string_view key) const {
    const std::vector<RuleKind> kinds = kinds_with(key);
    if (!kinds.empty() && std::find(kinds.begin(), kinds.end(), *kind_) == kinds.end()) {
      return std::nullopt;  // refused already
    }
    return section_.find(key);
  }

  // A difference in the rule's quantity, from `low` thousandths up to all that it can differ by.
  std::optional<Milli> read_step(const Field& field, Milli low) const {
    const PlausibleRange range = plausible_range(quantity_);
    const MilliRange allowed{low, range.high - range.low};
    return quantity_ == Quantity::humidity ? read_percent(field, allowed)
                                           : read_difference(field, allowed);
  }

  void read_limits() {
    const std::optional<Field> limit = find("limit");
    const std::optional<Field> offset = find("offset");
    if (limit && offset) {
      refuse("offset",
             section_.field().path +
                 " has both limit and offset; expected one of the two: limit is absolute, "
                 "offset counts from the batch's target");
      return;
    }
    // Where the value cannot be read, 0 stands for it: the rule has a limit, it has been told.
    if (limit) {
      patch_.limit = 0;
      const PlausibleRange range = plausible_range(quantity_);
      if (*kind_ == RuleKind::spread) {
        keep(patch_.limit, read_step(*limit, 1));
      } else if (quantity_ == Quantity::humidity) {
        keep(patch_.limit, read_percent(*limit, {range.low, range.high}));
      } else {
        keep(patch_.limit, read_temperature(*limit));
      }
    }
    if (offset) {
      if (!has_target() && quantity_ != Quantity::humidity) {
        refuse("offset", offset->path + " needs a target, and " + std::string(name_of(quantity_)) +
                             " has none; expected limit");
      } else {
        keep(patch_.offset, read_step(*offset, 1));
      }
    }
    const bool has_limit = limit || offset || below_.limit || below_.offset;
    if ((compares(*kind_) || *kind_ == RuleKind::spread) && !has_limit) {
      const bool either = has_target() || quantity_ == Quantity::humidity;
      section_.field().refuse(section_.field().path + " has no limit; expected limit" +
                              (compares(*kind_) && either ? " or offset" : ""));
      good_ = false;
    }
  }

  void read_early() {
    const auto fraction = [&](std::string_view key, Milli low, Milli high, const char* expected,
                              std::optional<Milli>& into) {
      const auto field = find(key);
      if (!field) return;
      const auto value = field->is_word() ? parse_decimal(field->node.text) : std::nullopt;
      if (!value || *value < low * 1000 || *value > high * 1000) {
        field->fault(expected);
        good_ = false;
        return;
      }
      into = static_cast<Milli>(*value / 1000);
    };
    EarlyPatch& early = patch_.early;
    fraction("lambda", 1, 1'000, "a number above 0 and at most 1 such as 0.2", early.lambda);
    fraction("sigmas", 500, 10'000, "a number between 0.5 and 10 such as 3", early.sigmas);
    if (const auto field = find("at_least")) keep(early.at_least, read_step(*field, 0));
    const auto span = [&](std::string_view key, std::optional<Span>& into) {
      if (const auto field = find(key)) keep(into, read_span(*field, Zero::refused));
    };
    span("window", early.window);
    span("ahead", early.ahead);
    span("learn", early.learn);
    span("lag", early.lag);
    span("frozen", early.frozen);
    span("alone", early.alone);
    if (const auto field = find("confirm")) keep(early.confirm, read_whole(*field, 1, 100));
    if (const auto field = find("towards")) {
      const auto index = read_choice(*field, {"high", "low"});
      if (index) early.towards = static_cast<Towards>(*index);
      good_ = good_ && index;
    }
    if (const auto field = find("bad")) {
      early.bad = field->is_word() ? signal_word(field->node.text) : std::nullopt;
      if (!early.bad) {
        field->fault("a state such as on, off, open, closed or stopped");
        good_ = false;
      }
    }
    if (early.lag && quantity_ != Quantity::egg)
      refuse("lag", section_.path("lag") +
                        " is the time constant of an egg; expected it with "
                        "quantity egg only");
  }

  void read_measures() {
    if (const auto field = find("deadband")) keep(patch_.deadband, read_step(*field, 0));
    if (const auto field = find("worse_by")) {
      if (field->is_off()) {
        patch_.worse_by = MilliOrOff{std::nullopt};
      } else if (const std::optional<Milli> step = read_step(*field, 1)) {
        patch_.worse_by = MilliOrOff{step};
      } else {
        good_ = false;
      }
    }
  }

  void read_airing() {
    if (const auto field = find("fall")) keep(patch_.fall, read_step(*field, 1));
    if (const auto field = find("rise")) keep(patch_.rise, read_step(*field, 1));
    if (const auto field = find("deepest")) {
      if (field->is_off()) {
        patch_.deepest = MilliOrOff{std::nullopt};
      } else if (const std::optional<Milli> limit = read_temperature(*field)) {
        patch_.deepest = MilliOrOff{limit};
      } else {
        good_ = false;
      }
    }
    if (const auto field = find("longest")) keep(patch_.longest, read_span_or_off(*field));
    if (const auto field = find("average")) {
      // Longer than two days no longer says anything of a stage; shorter than two minutes is delay.
      const auto span = read_span_or_off(*field);
      if (span && span->span && (*span->span < Span(2min) || *span->span > Span(48h))) {
        field->fault("a span from 2min to 48h, or off");
        good_ = false;
      } else {
        keep(patch_.average, span);
      }
    }
  }

  void read_spans() {
    const auto span = [&](std::string_view key, Zero zero, std::optional<Span>& into) {
      if (const auto field = find(key)) keep(into, read_span(*field, zero));
    };
    span("delay", Zero::allowed, patch_.delay);
    span("clear_delay", Zero::allowed, patch_.clear_delay);
    span("snooze_max", Zero::refused, patch_.snooze_max);
    span("warm_up", Zero::allowed, patch_.warm_up);
    span("after", Zero::refused, patch_.after);
    span("high_after", Zero::allowed, patch_.high_after);
    if (const auto field = find("acknowledge_holds")) {
      keep(patch_.acknowledge_holds, read_span_or_off(*field));
    }
  }

  void read_rest() {
    static const std::vector<std::string> kPriorities = {"low", "medium", "high"};
    if (const auto field = find("priority")) {
      const std::optional<std::size_t> index = read_choice(*field, kPriorities);
      if (index) patch_.priority = static_cast<Priority>(*index);
      good_ = good_ && index;
    }
    if (const auto field = find("by_third")) {
      std::array<Priority, 3> thirds{};
      const auto items = field->items("three priorities, for each third of the incubation one");
      bool fits = items.size() == thirds.size();
      for (std::size_t i = 0; fits && i < thirds.size(); ++i) {
        const auto index = read_choice(items[i], kPriorities);
        if (index) thirds[i] = static_cast<Priority>(*index);
        good_ = good_ && index;
      }
      if (!fits && field->node.kind == YamlNode::Kind::list)
        refuse("by_third", field->path + " has " + std::to_string(items.size()) +
                               " priorities; expected three, for each third of the incubation one");
      if (fits) patch_.by_third = thirds;
      good_ = good_ && fits;
    }
    if (const auto field = find("latch")) keep(patch_.latch, read_flag(*field));
    if (const auto field = find("machine")) keep(patch_.machine, read_flag(*field));
    // A thousand missed turns are weeks; more is a slip of the pen.
    if (const auto field = find("missed")) keep(patch_.missed, read_whole(*field, 1, 1000));
  }

  const Section& section_;
  const Below& below_;
  RulePatch patch_;
  std::optional<RuleKind> kind_;
  Quantity quantity_ = Quantity::temperature;
  bool good_ = true;
};

}  // namespace

const std::vector<std::string>& rule_keys() { return kKeys; }

ReadPatch read_patch(const Section& section, const Below& below,
                     const std::function<std::vector<std::string>()>& known) {
  return PatchReader(section, below).read(known);
}

}  // namespace clutchward
