// `clutchward history`: minutes and events that the daemon or a replay kept, as a table, CSV or
// JSON. Reads the file; reaches no daemon.
#include <sysexits.h>

#include <iostream>
#include <nlohmann/json.hpp>

#include "csv_cell.h"
#include "history_door.h"
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

// Empty where the row holds no JSON object.
std::string event_line(const HistoryEvent& row, Shape shape) {
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
    if (!line.empty()) line += shape == Shape::csv ? "," : "  ";
    line += shape == Shape::csv ? (number ? text : csv_cell(text))
            : text.empty()      ? "-"
                                : tame(text);
  }
  return line;
}

int run_history(HistoryArguments arguments) {
  const std::string path = history_path(arguments.file, arguments.state);
  HistoryFile file;
  if (const int code = open_history(path, file)) return code;
  arguments.question.from = parse_rfc3339(arguments.from);
  arguments.question.to = parse_rfc3339(arguments.to);
  const Shape shape = arguments.csv ? Shape::csv : arguments.json ? Shape::json : Shape::table;
  if (shape == Shape::csv)
    std::cout << (arguments.events ? "at,cabinet,batch,alarm,event,value,limit,worst,by,priority,"
                                     "latched\r\n"
                                   : "at,cabinet,probe,quantity,min,mean,max,count\r\n");
  std::uint64_t unreadable = 0;
  const auto print = [&](const std::string& line) {
    if (line.empty()) ++unreadable;
    if (!line.empty()) std::cout << line << (shape == Shape::csv ? "\r\n" : "\n");
    return std::cout.good();
  };
  const auto why =
      arguments.events
          ? file.events(arguments.question,
                        [&](const HistoryEvent& row) { return print(event_line(row, shape)); })
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
  auto* verb = app.add_subcommand("history", "Prints the minutes or the events that were kept");
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
  verb->add_option("--batch", arguments->question.batch, "events of this batch only")
      ->needs(events);
  auto* csv = verb->add_flag("--csv", arguments->csv, "CSV (RFC 4180) with a line of names");
  verb->add_flag("--json", arguments->json, "JSON, one object a line")->excludes(csv);
  verb->callback([&run, arguments] { run = [arguments] { return run_history(*arguments); }; });
}

}  // namespace clutchward
