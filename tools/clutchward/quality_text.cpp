// The document for a terminal: aligned columns, one for each configuration, sources as notes below.
#include <algorithm>
#include <cmath>
#include <map>

#include "base/text.h"
#include "quality.h"
#include "quality_words.h"
#include "screen.h"

namespace clutchward {
namespace {

using Json = nlohmann::ordered_json;

constexpr std::size_t kDifferences = 40;  // the rest is counted; --json has more
constexpr std::size_t kOffenders = 5;

std::string value_text(const Json& measure) {
  std::string text = "-";
  if (const Json& value = measure["value"]; value.is_number()) {
    const bool time = measure["unit"] == "s";
    text = time ? span_text(value.get<double>()) : decimal(value.get<double>());
    if (measure["unit"] == "%") text += " %";
  }
  const auto verdict = measure["verdict"].get<std::string>();
  return text + (verdict == "past" ? " *" : verdict == "too_little" ? " ?" : "  ");
}

class Text {
 public:
  explicit Text(const Json& document) : document_(document), sides_(document["sides"]) {}

  std::string all() {
    head();
    measures(Json(), "Everybody together");
    people();
    counts();
    offenders();
    what_if();
    notes();
    return std::move(out_);
  }

 private:
  std::size_t columns() const { return sides_.size(); }

  Row heading(const std::string& first) const {
    Row row{first};
    for (std::size_t i = 0; i < columns(); ++i)
      row.push_back(columns() == 1 ? "found" : std::string(1, static_cast<char>('A' + i)));
    return row;
  }

  void head() {
    const Json& from = document_["from"];
    out_ = "Alarms of " + tame(document_["file"].get<std::string>()) + ", " + clock(from) + " to " +
           clock(document_["until"]) + " UTC (" + span_text(watched_seconds()) + ")\n";
    if (columns() > 1)
      for (std::size_t i = 0; i < columns(); ++i)
        out_ +=
            std::string(1, static_cast<char>('A' + i)) + " is " + word(sides_[i]["name"]) + "\n";
    if (!document_["enough_time"].get<bool>())
      out_ += "Little data: the published table asks for 30 days at least.\n";
    if (const Json& after = document_["answered_by_assumption_after_s"]; after.is_number())
      out_ += "Assumed: somebody answers " + span_text(after.get<double>()) +
              " after it rang; the times to answer say nothing more than that.\n";
    else if (document_["source"] == "recording" && document_["commands"] == 0 && rang_at_all())
      out_ +=
          "Nobody answers in this recording, so reminders go on and on; --answer-after 5min "
          "plays somebody who does.\n";
    if (const auto lost = document_["unreadable_events"].get<std::uint64_t>(); lost > 0)
      out_ += counted(lost, "row of the history is", "rows of the history are") +
              " no event and left out.\n";
  }

  double watched_seconds() const {
    const auto from = parse_rfc3339(document_["from"].get<std::string>());
    const auto until = parse_rfc3339(document_["until"].get<std::string>());
    return from && until ? std::chrono::duration<double>(*until - *from).count() : 0;
  }

  bool rang_at_all() const {
    return std::any_of(sides_.begin(), sides_.end(),
                       [](const Json& side) { return side["raised"].get<std::uint64_t>() > 0; });
  }

  // The note's number of a source, in order of first mention.
  std::string note(const std::string& source) {
    const auto found = std::find(sources_.begin(), sources_.end(), source);
    const auto index = found - sources_.begin();
    if (found == sources_.end()) sources_.push_back(source);
    return "[" + std::to_string(index + 1) + "]";
  }

  // One measure of one person (null: of all) in one side; null where the side does not know it.
  static Json find(const Json& side, const std::string& key, const Json& who) {
    for (const Json& one : side["measures"])
      if (one["measure"] == key && one["who"] == who) return one;
    return nullptr;
  }

  void measures(const Json& who, const std::string& title) {
    std::vector<std::pair<std::string, Json>> order;
    for (const Json& side : sides_)
      for (const Json& one : side["measures"]) {
        const auto key = one["measure"].get<std::string>();
        const bool there = std::any_of(order.begin(), order.end(),
                                       [&](const auto& each) { return each.first == key; });
        if (one["who"] == who && !there) order.emplace_back(key, one);
      }
    if (order.empty()) return;
    Row top = heading("");
    for (std::size_t i = 1; i < top.size(); ++i) top[i] += "  ";
    top.push_back("target");
    std::vector<Row> rows{top};
    for (const auto& [key, like] : order) {
      Row row{like["what"].get<std::string>()};
      for (const Json& side : sides_) {
        const Json one = find(side, key, who);
        row.push_back(one.is_null() ? "-  " : value_text(one));
      }
      const bool none = like["target"] == "none";
      row.push_back(none ? "none published"
                         : like["target"].get<std::string>() + " " +
                               note(like["source"].get<std::string>()));
      rows.push_back(std::move(row));
    }
    out_ += "\n" + title + "\n" + table(rows, 1, 1 + columns());
  }

  void people() {
    std::vector<std::string> names;
    for (const Json& side : sides_)
      for (const Json& person : side["people"]) {
        const auto contact = person["contact"].get<std::string>();
        if (std::find(names.begin(), names.end(), contact) == names.end()) names.push_back(contact);
      }
    out_ += since_when();
    if (names.empty()) {
      if (document_["people_from"].is_string()) out_ += "\n" + nobody();
      return;
    }
    // What two hours come to in a day tells nobody anything.
    const bool a_day = watched_seconds() >= 86'400;
    std::vector<Row> rows{heading("in all (high ones)")};
    for (const std::string& name : names) {
      Row row{tame(name)};
      Row daily{tame(name) + ", a day"};
      for (const Json& side : sides_) {
        const Json person = person_of(side, name);
        const bool told = !person.is_null();
        row.push_back(told ? std::to_string(person["messages"].get<std::uint64_t>()) + " (" +
                                 std::to_string(person["by_urgency"]["high"].get<std::uint64_t>()) +
                                 ")"
                           : "0 (0)");
        daily.push_back(told ? decimal(person["messages_a_day"].get<double>()) : "0");
      }
      rows.push_back(std::move(row));
      if (a_day) rows.push_back(std::move(daily));
      besides(rows, name, "other_messages", ", not about alarms");
      besides(rows, name, "undelivered", ", never delivered");
    }
    out_ += "\nMessages\n" + table(rows, 1, 1 + columns());
    for (const std::string& name : names) measures(name, tame(name));
  }

  // A row of a history's own, where there is something to tell.
  void besides(std::vector<Row>& rows, const std::string& name, const char* key,
               const char* what) const {
    Row row{tame(name) + what};
    std::uint64_t all = 0;
    for (const Json& side : sides_) {
      const Json person = person_of(side, name);
      const auto count = person.is_null() ? 0 : person[key].get<std::uint64_t>();
      all += count;
      row.push_back(std::to_string(count));
    }
    if (all > 0) rows.push_back(std::move(row));
  }

  std::string nobody() const {
    if (document_["source"] == "history") return "Nobody was told of anything in that time.\n";
    return "Nobody was told: the configuration names no contact or no step, or nothing rang.\n";
  }

  // A history that a program before this one began says nothing of people until it was taken over.
  std::string since_when() const {
    const Json& since = document_["people_from"];
    if (since.is_null()) {
      if (const Json& kept = document_["people_kept_from"]; kept.is_string())
        return "\nWho was told is not kept before " + clock(kept) + " UTC.\n";
      return "\nWho was told is not kept in this history: play a recording for figures a person.\n";
    }
    const auto from = parse_rfc3339(document_["from"].get<std::string>());
    const auto known = parse_rfc3339(since.get<std::string>());
    // Minutes stand from their beginning on, the watch in the middle of one.
    if (!from || !known || *known - *from <= std::chrono::minutes{1}) return "";
    return "\nWho was told is not kept before " + clock(since) +
           " UTC: figures a person count from then on.\n";
  }

  static Json person_of(const Json& side, const std::string& name) {
    for (const Json& person : side["people"])
      if (person["contact"] == name) return person;
    return nullptr;
  }

  void counts() {
    std::vector<std::string> rules;
    for (const Json& side : sides_)
      for (const auto& [rule, unused] : side["raised_by_rule"].items())
        if (std::find(rules.begin(), rules.end(), rule) == rules.end()) rules.push_back(rule);
    std::sort(rules.begin(), rules.end());
    std::vector<Row> rows{heading("")};
    const auto add = [&](const std::string& name, const auto& of) {
      Row row{name};
      for (const Json& side : sides_) row.push_back(std::to_string(of(side)));
      rows.push_back(std::move(row));
    };
    for (const std::string& rule : rules)
      add("raised by " + tame(rule),
          [&](const Json& side) { return side["raised_by_rule"].value(rule, std::uint64_t{0}); });
    for (const char* priority : {"high", "medium", "low", "unknown"}) {
      const auto of = [&](const Json& side) {
        return side["annunciated_by_priority"].value(priority, std::uint64_t{0});
      };
      if (std::any_of(sides_.begin(), sides_.end(), [&](const Json& side) { return of(side) > 0; }))
        add("told, priority " + std::string(priority), of);
    }
    for (const auto& [key, text] : {std::pair("acknowledged", "acknowledged"),
                                    {"never_acknowledged", "never acknowledged"},
                                    {"of_them_snoozed", "  of them only snoozed"},
                                    {"stale", "stood for over 24 h"},
                                    {"floods", "floods"},
                                    {"unanswered_at_the_end", "unanswered at the end"}})
      add(text, [&, key = key](const Json& side) { return side[key].get<std::uint64_t>(); });
    out_ += "\nCounts\n" + table(rows, 1, 1 + columns());
  }

  void offenders() {
    for (std::size_t i = 0; i < columns(); ++i) {
      std::vector<Row> rows{{"raised", "index", "cabinet", "alarm", "what would have stopped it"}};
      for (const Json& one : sides_[i]["worst"]) {
        if (rows.size() > kOffenders || one["raised"].get<std::uint64_t>() < 2) break;
        rows.push_back({std::to_string(one["raised"].get<std::uint64_t>()),
                        decimal(one["chatter_index"].get<double>()) +
                            (one["chatters"].get<bool>() ? " *" : "  "),
                        word(one["cabinet"]), word(one["alarm"]), remedy(one)});
      }
      if (rows.size() == 1) continue;
      out_ += "\nMost often raised";
      if (columns() > 1) out_ += ", " + std::string(1, static_cast<char>('A' + i));
      out_ += "\n" + table(rows, 0, 2);
    }
  }

  static std::string remedy(const Json& one) {
    if (!one["delay_longer_by_s"].is_number()) return "- (never again within 10 min)";
    std::string text = "a delay longer by " + span_text(one["delay_longer_by_s"].get<double>());
    if (one["deadband_at_least"].is_number())
      text += ", or a deadband of " + decimal(one["deadband_at_least"].get<double>()) + " at least";
    return text;
  }

  void what_if() {
    for (std::size_t i = 0; i < document_["comparisons"].size(); ++i) {
      const Json& one = document_["comparisons"][i];
      const std::string second(1, static_cast<char>('B' + i));
      out_ += "\nA beside " + second + ", by cabinet and time\n";
      std::vector<Row> rows;
      const auto add = [&](const std::string& what, const char* key) {
        rows.push_back({what, std::to_string(one[key].get<std::uint64_t>())});
      };
      add("both rang", "both");
      add("only A rang", "only_first");
      add("only " + second + " rang", "only_second");
      add(second + " rang earlier", "second_earlier");
      add(second + " rang later", "second_later");
      if (const Json& lead = one["middle_lead_of_second_s"]; lead.is_number())
        rows.push_back({second + " was ahead by, in the middle", lead_text(lead.get<double>())});
      out_ += table(rows, 1, 2);
      differences(i + 1, second);
    }
  }

  static std::string lead_text(double seconds) {
    return (seconds < 0 ? "-" : "") + span_text(std::abs(seconds));
  }

  void differences(std::size_t second, const std::string& name) {
    std::vector<Row> rows{{"from", "cabinet", "trouble", "A", name, name + " ahead by"}};
    std::uint64_t more = document_["occurrences_left_out"].get<std::uint64_t>();
    for (const Json& one : document_["occurrences"]) {
      const Json& here = one["sides"][0];
      const Json& there = one["sides"][second];
      if (here.is_null() && there.is_null()) continue;
      const bool same = !here.is_null() && !there.is_null() && here["first"] == there["first"] &&
                        here["priority"] == there["priority"];
      if (same) continue;
      if (rows.size() > kDifferences) {
        ++more;
        continue;
      }
      rows.push_back({clock(one["from"]), word(one["cabinet"]), word(one["trouble"]), rang(here),
                      rang(there), here.is_null() || there.is_null() ? "" : ahead(here, there)});
    }
    if (rows.size() > 1) out_ += "Where they differ\n" + table(rows, 5, 6);
    if (more > 0) out_ += "  and " + std::to_string(more) + " more: --json lists them\n";
  }

  static std::string rang(const Json& side) {
    if (side.is_null()) return "silent";
    std::string rules;
    for (const Json& rule : side["rules"]) rules += (rules.empty() ? "" : "+") + word(rule);
    return rules + " (" + side["priority"].get<std::string>() + ")";
  }

  static std::string ahead(const Json& here, const Json& there) {
    const auto first = parse_rfc3339(here["first"].get<std::string>());
    const auto second = parse_rfc3339(there["first"].get<std::string>());
    if (!first || !second) return "";
    return lead_text(std::chrono::duration<double>(*first - *second).count());
  }

  void notes() {
    out_ += "\n* past its target   ? too little data to judge by\n";
    for (std::size_t i = 0; i < sources_.size(); ++i)
      out_ += "[" + std::to_string(i + 1) + "] " + sources_[i] + "\n";
    out_ +=
        "The published targets are for a staffed control room: ceilings, no aims. Whoever sleeps "
        "beside a phone\nneeds far fewer (our own judgement).\n";
  }

  const Json& document_;
  const Json& sides_;
  std::vector<std::string> sources_;
  std::string out_;
};

}  // namespace

std::string quality_text(const Json& document) {
  if (document["from"].is_null())
    return "Nothing to count: " + tame(document["file"].get<std::string>()) +
           (document["source"] == "recording" ? " holds no message"
                                              : " holds no minute and no event") +
           " in that time.\n";
  return Text(document).all();
}

}  // namespace clutchward
