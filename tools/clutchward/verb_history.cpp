// `clutchward history`: minutes, events and who was told, that the daemon or a replay kept, as a
// table, CSV or JSON. Reads the file; reaches no daemon.
#include <sysexits.h>

#include <algorithm>
#include <cctype>
#include <iostream>
#include <map>
#include <nlohmann/json.hpp>

#include "history_door.h"
#include "notification/wording.h"
#include "report/csv_cell.h"
#include "screen.h"
#include "talk.h"
#include "verb.h"

namespace clutchward {
namespace {

using Json = nlohmann::ordered_json;

enum class Shape : std::uint8_t { table, csv, json };

struct HistoryArguments {
  std::string state;
  std::string file;
  HistoryQuestion question;
  std::string from;
  std::string to;
  bool events = false;
  bool told = false;
  bool csv = false;
  bool json = false;
};

std::string time_of(const HistoryMinute& row) {
  return to_rfc3339(Wall(std::chrono::minutes(row.minute)));
}

std::string minute_line(const HistoryMinute& row, Shape shape) {
  if (shape == Shape::json) {
    const auto number = [](Milli value) { return static_cast<double>(value) / 1000; };
    const Json json = {{"at", time_of(row)},      {"cabinet", row.cabinet},
                       {"probe", row.probe},      {"quantity", row.quantity},
                       {"min", number(row.low)},  {"mean", number(row.mean)},
                       {"max", number(row.high)}, {"count", row.count}};
    return json.dump(-1, ' ', false, Json::error_handler_t::replace);
  }
  const auto cell = [&](const std::string& text) {
    return shape == Shape::csv ? csv_cell(text) : tame(text);
  };
  const std::string between = shape == Shape::csv ? "," : "  ";
  return time_of(row) + between + cell(row.cabinet) + between + cell(row.probe) + between +
         row.quantity + between + milli_exact(row.low) + between + milli_exact(row.mean) + between +
         milli_exact(row.high) + between + std::to_string(row.count);
}

using Names = std::map<std::string, std::string>;  // of cabinets

// As the batches' records have them; the latest last.
Names names_in(const HistoryFile& file) {
  Names names;
  std::vector<HistoryRecord> records;
  if (file.records(records)) return names;
  for (const HistoryRecord& record : records) {
    const Json schedule = Json::parse(record.schedule, nullptr, false);
    if (!schedule.is_object() || !schedule.contains("cabinets")) continue;
    for (const Json& each : schedule["cabinets"])
      if (each.is_object()) names[each.value("cabinet", "")] = each.value("name", "");
  }
  return names;
}

// "setter-a (Setter A)", "high (too hot)": the id, and beside it what people say.
std::string beside(const std::string& id, const std::string& words) {
  return words.empty() || words == id ? id : id + " (" + words + ")";
}

std::string alarm_words(const Json& event) {
  AlarmView view;
  const auto place = [&](const char* key, const auto& all) -> std::optional<std::size_t> {
    const auto found = event.find(key);
    if (found == event.end() || !found->is_string()) return std::nullopt;
    const auto at = std::find(all.begin(), all.end(), found->get<std::string>());
    if (at == all.end()) return std::nullopt;
    return static_cast<std::size_t>(at - all.begin());
  };
  const auto kind = place("kind", kRuleKindNames);
  const auto quantity = place("quantity", kQuantityNames);
  if (!kind || !quantity) return {};
  view.kind = static_cast<RuleKind>(*kind);
  view.quantity = static_cast<Quantity>(*quantity);
  std::string words(fault_word(view));
  for (char& c : words) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return words;
}

// Empty where the row holds no JSON object.
std::string event_line(const HistoryEvent& row, Shape shape, const Names& names) {
  const Json json = Json::parse(row.json, nullptr, false);
  if (!json.is_object()) return {};
  if (shape == Shape::json) return json.dump(-1, ' ', false, Json::error_handler_t::replace);
  std::string line;
  for (const char* key : {"at", "cabinet", "batch", "alarm", "event", "value", "limit", "worst",
                          "by", "priority", "latched"}) {
    const auto found = json.find(key);
    std::string text;
    if (found != json.end() && !found->is_null())
      text = found->is_string() ? found->get<std::string>() : found->dump();
    // A number below 0 is no formula.
    const bool number = found != json.end() && found->is_number();
    if (shape == Shape::table && std::string_view(key) == "cabinet" && names.contains(text))
      text = beside(text, names.at(text));
    if (shape == Shape::table && std::string_view(key) == "alarm")
      text = beside(text, alarm_words(json));
    // Ending a snooze rings again: who ended it did not ring.
    if (shape == Shape::table && text == "raised_again" && json.contains("by") &&
        json["by"].is_string())
      text = "snooze ended, raised again";
    if (!line.empty()) line += shape == Shape::csv ? "," : "  ";
    line += shape == Shape::csv ? (number ? text : csv_cell(text))
            : text.empty()      ? "-"
                                : tame(text);
  }
  return line;
}

std::string told_line(const HistoryTold& row, Shape shape) {
  const std::string at = to_rfc3339(row.at);
  const std::string delivered = row.delivered_at ? to_rfc3339(*row.delivered_at) : "";
  if (shape == Shape::json) {
    const auto name = [](const std::string& text) { return text.empty() ? Json() : Json(text); };
    const Json json = {{"at", at},
                       {"contact", row.contact},
                       {"way", row.way},
                       {"urgency", row.urgency},
                       {"sort", row.sort},
                       {"cabinet", name(row.cabinet)},
                       {"batch", name(row.batch)},
                       {"alarm", name(row.alarm)},
                       {"episode", name(row.episode)},
                       {"first_line", row.first_line},
                       {"delivered_at", name(delivered)}};
    return json.dump(-1, ' ', false, Json::error_handler_t::replace);
  }
  std::string line = at;
  for (const std::string* text :
       {&row.contact, &row.way, &row.urgency, &row.sort, &row.cabinet, &row.batch, &row.alarm,
        &row.episode, &delivered, &row.first_line})
    line +=
        shape == Shape::csv ? "," + csv_cell(*text) : "  " + (text->empty() ? "-" : tame(*text));
  return line;
}

constexpr const char* kMinuteNames = "at,cabinet,probe,quantity,min,mean,max,count";
constexpr const char* kEventNamesLine =
    "at,cabinet,batch,alarm,event,value,limit,worst,by,priority,latched";
constexpr const char* kToldNames =
    "at,contact,way,urgency,sort,cabinet,batch,alarm,episode,delivered_at,first_line";

int run_history(HistoryArguments arguments) {
  std::string path;
  HistoryFile file;
  if (const int code = open_history(arguments.file, arguments.state, file, path)) return code;
  arguments.question.from = parse_rfc3339(arguments.from);
  arguments.question.to = parse_rfc3339(arguments.to);
  const Shape shape = arguments.csv ? Shape::csv : arguments.json ? Shape::json : Shape::table;
  if (shape == Shape::csv)
    std::cout << (arguments.events ? kEventNamesLine
                  : arguments.told ? kToldNames
                                   : kMinuteNames)
              << "\r\n";
  const Names names = arguments.events && shape == Shape::table ? names_in(file) : Names{};
  std::uint64_t unreadable = 0;
  const auto print = [&](const std::string& line) {
    if (line.empty()) ++unreadable;
    if (!line.empty()) std::cout << line << (shape == Shape::csv ? "\r\n" : "\n");
    return std::cout.good();
  };
  const auto why =
      arguments.events ? file.events(arguments.question,
                                     [&](const HistoryEvent& row) {
                                       return print(event_line(row, shape, names));
                                     })
      : arguments.told
          ? file.told(arguments.question,
                      [&](const HistoryTold& row) { return print(told_line(row, shape)); })
          : file.minutes(arguments.question,
                         [&](const HistoryMinute& row) { return print(minute_line(row, shape)); });
  std::cout.flush();
  if (why) return complain(why->why, EX_DATAERR);
  if (!std::cout) return complain("the output cannot be written", EX_IOERR);
  if (unreadable > 0)
    return complain(path + ": " + std::to_string(unreadable) + " events could not be read",
                    EX_DATAERR);
  return EX_OK;
}

std::string time_fault(const std::string& text) {
  if (parse_rfc3339(text)) return {};
  return "\"" + text + "\" is no time; expected such as 2026-03-01T08:00:00Z";
}

}  // namespace

void add_history(CLI::App& app, Run& run) {
  auto* verb = app.add_subcommand(
      "history", "Prints the minutes, the events or who was told, as they were kept");
  auto arguments = std::make_shared<HistoryArguments>();
  auto* state =
      verb->add_option("--state", arguments->state, "the daemon's state folder, where it lies");
  verb->add_option("--history", arguments->file, "the database itself")->excludes(state);
  verb->add_option("--cabinet", arguments->question.cabinet, "of this cabinet only");
  auto* probe = verb->add_option("--probe", arguments->question.probe, "of this probe only");
  auto* quantity = verb->add_option("--quantity", arguments->question.quantity)
                       ->check(CLI::IsMember({"temperature", "humidity", "wet_bulb", "dew_point"}));
  verb->add_option("--from", arguments->from, "from this time on (RFC 3339)")->check(time_fault);
  verb->add_option("--to", arguments->to, "before this time (RFC 3339)")->check(time_fault);
  auto* events = verb->add_flag("--events", arguments->events, "what happened to alarms instead");
  events->excludes(probe)->excludes(quantity);
  auto* told =
      verb->add_flag("--told", arguments->told, "who was told, when and which way instead");
  told->excludes(probe)->excludes(quantity)->excludes(events);
  auto* batch = verb->add_option("--batch", arguments->question.batch,
                                 "with --events or --told: of this batch only");
  auto* csv = verb->add_flag("--csv", arguments->csv, "CSV (RFC 4180) with a line of names");
  verb->add_flag("--json", arguments->json, "JSON, one object a line")->excludes(csv);
  batch->excludes(probe)->excludes(quantity);
  verb->callback([&run, arguments, batch] {
    if (batch->count() > 0 && !arguments->events && !arguments->told)
      throw CLI::RequiresError("--batch", "--events or --told");
    run = [arguments] { return run_history(*arguments); };
  });
}

}  // namespace clutchward
