// Commands over HTTP: as JSON, and as the page's forms. Both become the same Command, with the
// person whom the gate knows in its `by`.
#include <algorithm>
#include <charconv>

#include "base/limits.h"
#include "base/result.h"
#include "base/text.h"
#include "web/again_page.h"
#include "web/answers.h"
#include "web/handlers.h"
#include "web/html.h"
#include "web/request_check.h"
#include "web/site.h"
#include "wire/command_json.h"

namespace clutchward {
namespace {

constexpr std::string_view kJson = "application/json";
// Who pressed a button on the machine itself, where nobody is named.
constexpr const char* kSomebodyHere = "keeper";

constexpr const char* kNoCommandsHere =
    "Commands over the network need settings that say who may give them: people with a passphrase, "
    "or page.trust_loopback for this machine. Use MQTT or the keeper's command (clutchward) on the "
    "machine itself.";

std::optional<Answer> refusal_for(const Visitor& visitor, Role needed) {
  if (visitor.may_do(needed)) return std::nullopt;
  if (visitor.by == Visitor::By::anonymous) return sentence(403, kNoCommandsHere);
  if (visitor.by == Visitor::By::nobody) {
    Answer answer = sentence(401, "Who are you? Send name and passphrase, or log in.");
    answer.headers.emplace_back("WWW-Authenticate",
                                "Basic realm=\"Clutchward\", charset=\"UTF-8\"");
    return answer;
  }
  return sentence(403, printable(visitor.person, 64) + " may not do that: it needs the role " +
                           std::string(kRoleNames.at(static_cast<std::size_t>(needed))) + ".");
}

struct Deeds {
  std::optional<Deed> deed;
  Command command;              // what the form says beside its deed
  std::vector<Covered> alarms;  // for a deed that goes to alarms
  std::string token;
  std::string to = "/";
};

std::optional<Deed> deed_of(std::string_view word) {
  for (std::size_t i = 0; i < kDeedNames.size(); ++i)
    if (kDeedNames.at(i) == word) return static_cast<Deed>(i);
  return std::nullopt;
}

// "45" -> 45; none for anything but a whole number.
std::optional<int> whole(const std::string& text) {
  int value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || end != text.data() + text.size()) return std::nullopt;
  return value;
}

// The fields that are words of a command as they stand; null for others. An empty one says nothing.
std::string* word_of(Command& command, const std::string& name) {
  if (name == "cabinet") return &command.cabinet;
  if (name == "batch") return &command.batch;
  if (name == "profile") return &command.profile;
  if (name == "move_to") return &command.to;
  if (name == "reason") return &command.reason;
  if (name == "note") return &command.note;
  if (name == "contact") return &command.contact;
  return nullptr;
}

// "2240.5", as some phones write it "2240,5".
std::optional<double> decimal(std::string text) {
  std::replace(text.begin(), text.end(), ',', '.');
  double value = 0;
  const auto [end, error] =
      std::from_chars(text.data(), text.data() + text.size(), value, std::chars_format::fixed);
  if (error != std::errc() || end != text.data() + text.size() || !(value >= 0))
    return std::nullopt;
  return value;
}

// False where a field that wants a number has none; fields of other names are passed over.
bool take_number(Command& command, const std::string& name, const std::string& value) {
  constexpr std::string_view kFate = "fate_";
  const auto set = [](auto& into, const auto& number) {
    if (number) into = *number;
    return number.has_value();
  };
  if (name == "minutes") return set(command.minutes, whole(value));
  if (name == "eggs") return set(command.eggs, whole(value));
  if (name == "grams") return set(command.grams, decimal(value));
  if (name == "stored_days") return set(command.stored_days, decimal(value));
  if (!name.starts_with(kFate)) return true;
  const auto fate = fate_named(std::string_view(name).substr(kFate.size()));
  const auto count = whole(value);
  if (!fate || !count || *count < 0) return false;
  if (*count > 0) command.eggs_by_fate[*fate] = *count;
  return true;
}

// "hens-12/high/high-17 hens-12/hot/hot-3": false where one of them is none.
bool take_alarms(std::string_view text, std::vector<Covered>& into) {
  for (;;) {
    const std::size_t end = std::min(text.find(' '), text.size());
    auto alarm = covered(text.substr(0, end));
    if (!alarm || into.size() >= limits::kFormFields) return false;
    into.push_back(std::move(*alarm));
    if (end == text.size()) return true;
    text.remove_prefix(end + 1);
  }
}

Result<Deeds> read_form(const Request& request, const Fields& fields) {
  Deeds deeds;
  // The address says for which cabinet and where to go on; nothing else is heard there.
  deeds.command.cabinet = request.parameter("cabinet");
  if (const auto to = request.parameter("to"); !to.empty()) deeds.to = own_path(to);
  for (const auto& [name, value] : fields) {
    if (std::string* word = word_of(deeds.command, name)) *word = value;
    if (name == "do") deeds.deed = deed_of(value);
    if (name == "token") deeds.token = value;
    if (name == "to") deeds.to = own_path(value);
    if (name == "of" && !take_alarms(value, deeds.alarms))
      return Refusal{"The form cannot be read: it names no alarm."};
    if (!value.empty() && !take_number(deeds.command, name, value))
      return Refusal{printable(name, 32) + " is \"" + printable(value, 32) +
                     "\"; expected a number. Nothing was done."};
    if (name == "sure") deeds.command.sure = value == "yes";
  }
  // The buttons with a length stand for themselves.
  if (!deeds.deed && deeds.command.minutes) deeds.deed = Deed::snooze;
  if (!deeds.deed) return Refusal{"The form does not say what to do."};
  deeds.command.deed = *deeds.deed;
  return deeds;
}

std::vector<AlarmView> alarms_of(const WebDoor& door, const std::string& cabinet) {
  if (cabinet.empty()) return door.watch().alarms;
  const auto view = door.cabinet(cabinet);
  return view ? view->alarms : std::vector<AlarmView>();
}

bool goes_to_alarms(Deed deed) {
  return deed == Deed::acknowledge || deed == Deed::snooze || deed == Deed::unsnooze ||
         deed == Deed::pass_on || deed == Deed::reset;
}

// Only those it fits: what somebody else has answered meanwhile is no refusal.
std::vector<Command> commands_of(const Site& site, const Deeds& deeds, const std::string& by) {
  Command command = deeds.command;
  command.by = by;
  if (!goes_to_alarms(*deeds.deed)) return {command};
  std::vector<Command> commands;
  const auto views = alarms_of(site.door, command.cabinet);
  for (const Covered& alarm : deeds.alarms) {
    const auto view = std::find_if(views.begin(), views.end(), [&](const AlarmView& each) {
      return each.key.batch == alarm.batch && each.key.alarm == alarm.alarm;
    });
    if (view == views.end() || !fits(*deeds.deed, *view)) continue;
    command.batch = alarm.batch;
    command.alarm = alarm.alarm;
    command.episode = alarm.episode;
    // A length that is too long for one alarm is cut to what that one allows.
    if (deeds.command.minutes && command.deed == Deed::snooze)
      command.minutes =
          std::min(*deeds.command.minutes, static_cast<double>(view->snooze_max.count()) / 60'000);
    commands.push_back(command);
  }
  return commands;
}

}  // namespace

void carry_out_all(const WebDoor& door, std::vector<Command> commands,
                   const std::function<void(std::vector<Reply>)>& done) {
  struct Together {
    std::vector<Reply> replies;
    std::size_t open = 0;
  };
  if (commands.empty()) return done({});
  const auto together = std::make_shared<Together>();
  together->replies.resize(commands.size());
  together->open = commands.size();
  for (std::size_t i = 0; i < commands.size(); ++i)
    door.command(std::move(commands[i]), [together, i, done](Reply reply) {
      together->replies[i] = std::move(reply);
      if (--together->open == 0) done(std::move(together->replies));
    });
}

void post_command(Site& site, const Request& request, const Visitor& visitor,
                  const Respond& respond) {
  auto command = parse_command(request.body);
  // Who may do nothing at all need not learn what a command looks like.
  if (auto refusal = refusal_for(visitor, command ? needed_for(command->deed) : Role::answer))
    return respond(std::move(*refusal));
  if (!command)
    return respond({400,
                    kJson,
                    to_json(Reply{id_of_refused(request.body), false, command.why()}) + "\n",
                    "",
                    {},
                    {}});
  // Nobody speaks for somebody else; only this machine's own people are taken at their word.
  if (!visitor.person.empty()) command->by = visitor.person;
  site.door.command(std::move(*command), [respond](const Reply& reply) {
    respond({reply.ok ? 200U : 409U, kJson, to_json(reply) + "\n", "", {}, {}});
  });
}

void post_deed(Site& site, const Request& request, const Visitor& visitor, const Respond& respond) {
  const auto fields = decoded_form(request.body);
  if (!fields)
    return respond(said(400, "Not done", "The form cannot be read.", "/", site, visitor));
  const auto deeds = read_form(request, *fields);
  if (!deeds) return respond(not_done(400, deeds.why(), *fields, "/", site, visitor));
  if (auto refusal = refusal_for(visitor, needed_for(*deeds->deed))) {
    if (refusal->status == 401) return respond(go_to("/login?to=" + in_address(deeds->to)));
    return respond(said(refusal->status, "Not done", refusal->body, deeds->to, site, visitor));
  }
  if (auto refusal = site.gate.without_token(visitor, deeds->token))
    return respond(said(refusal->status, "Not done", refusal->body, deeds->to, site, visitor));
  const std::string by = visitor.person.empty() ? kSomebodyHere : visitor.person;
  auto commands = commands_of(site, *deeds, by);
  if (commands.empty())
    return respond(said(409, "Nothing left to do",
                        "Things have changed since the page was opened: look again.", deeds->to,
                        site, visitor));
  carry_out_all(site.door, std::move(commands),
                [&site, visitor, to = deeds->to, typed = *fields,
                 respond](const std::vector<Reply>& replies) {
                  std::string why;
                  for (const Reply& reply : replies) {
                    if (reply.ok) return respond(go_to(to));
                    if (why.empty()) why = reply.why;
                  }
                  respond(not_done(409, why, typed, to, site, visitor));
                });
}

}  // namespace clutchward
