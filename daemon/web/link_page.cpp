// GET shows, POST does.
#include "web/link_page.h"

#include <algorithm>

#include "base/text.h"
#include "web/answers.h"
#include "web/handlers.h"
#include "web/html.h"
#include "web/page_words.h"
#include "web/request_check.h"
#include "web/told_words.h"

namespace clutchward {
namespace {

constexpr std::string_view kBefore = "/a/";

// The heading says what it would do, the button does it.
constexpr std::string_view kLink = R"(<main>
<h1>{{what}}</h1>
<p class="now">{{figures}}</p>
<p>{{since}}</p>
<p class="who">{{who}}</p>
{{#told}}<p class="note">{{told}}</p>
{{/told}}{{#done}}<p class="done" role="status">{{done}}</p>
{{/done}}{{#wrong}}<p class="doubts" role="alert">{{wrong}}</p>
{{/wrong}}{{#action}}<form method="post" action="{{path}}" class="fields">
<input type="hidden" name="token" value="{{form_token}}">
{{#pin}}<label for="pin">PIN of <bdi>{{whose}}</bdi></label>
<input id="pin" name="pin" type="password" inputmode="numeric" autocomplete="off" pattern="[0-9]{6}" minlength="6" maxlength="6" required>
<p class="tick"><input type="checkbox" id="remember" name="remember" value="yes"><label for="remember">Remember this phone: no PIN next time</label></p>
{{/pin}}<button class="main">{{action}}</button>
</form>
<p class="note">{{covers}}</p>
{{/action}}</main>
)";

std::string word_of(Deed deed) {
  if (deed == Deed::snooze) return "Snooze 30 min";
  return deed == Deed::pass_on ? "Pass on" : "Acknowledge";
}

// The alarm of the link as it stands, if it is still the same episode.
std::optional<AlarmView> alarm_of(const Site& site, const Link& link) {
  std::vector<AlarmView> alarms;
  if (link.alarm.cabinet.empty()) {
    alarms = site.door.watch().alarms;
  } else if (const auto cabinet = site.door.cabinet(link.alarm.cabinet)) {
    alarms = cabinet->alarms;
  }
  for (AlarmView& alarm : alarms)
    if (alarm.key == link.alarm && alarm.episode == link.episode) return std::move(alarm);
  return std::nullopt;
}

AlarmsOf alarms_of(const Site& site) {
  return [&site](const std::string& id) {
    if (id.empty()) return site.door.watch().alarms;
    const auto cabinet = site.door.cabinet(id);
    return cabinet ? cabinet->alarms : std::vector<AlarmView>();
  };
}

// In whose name this visitor may use the link without a PIN: the one it was sent to, on a phone
// that is remembered, or anybody who is logged in and may answer anyway. None for a stranger.
std::optional<std::string> enrolled_as(const Visitor& visitor, const Link& link) {
  if (visitor.by == Visitor::By::loopback) return link.person;
  if (visitor.by != Visitor::By::session || !may(visitor.role, needed_for(link.deed)))
    return std::nullopt;
  if (visitor.links_only && visitor.person != link.person) return std::nullopt;
  return visitor.person;
}

bool has_pin(const Site& site, const Link& link) {
  const auto& people = site.gate.terms().people;
  const auto found = people.find(link.person);
  return found != people.end() && !found->second.pin.empty() &&
         may(found->second.role, needed_for(link.deed));
}

std::optional<WhoKnows> told_of(const Site& site, const AlarmView& alarm) {
  return site.door.told ? site.door.told(alarm) : std::nullopt;
}

// What is said above the form, or in its place.
struct Said {
  std::string done = {};
  std::string wrong = {};
};

// What this deed has brought about, by how the alarm stands after it.
std::string done_words(const Site& site, const Link& link, const std::string& by,
                       const AlarmView& alarm) {
  const WatchView watch = site.door.watch();
  const PageWords words(watch);
  const std::string name = name_in_words(by);
  const auto again = [&](const std::string& before) {
    return alarm.rings_again_at
               ? before + words.clock(*alarm.rings_again_at) + " if it is still so."
               : std::string();
  };
  switch (link.deed) {
    case Deed::snooze:
      return "It is quiet now, " + name + "." + again(" It rings again at ");
    case Deed::pass_on:
      return "You have passed it on, " + name + ".";
    default:
      return alarm.active ? "You have it, " + name + "." + again(" It rings again at ")
                          : "Noted, " + name + ": you have seen it.";
  }
}

// Passing on twice would go past the next one: what this person has done stays done.
std::string passed_already(const Site& site, const Link& link, const std::string& by,
                           const AlarmView& alarm) {
  const auto at = link.deed == Deed::pass_on && alarm.active && !alarm.acknowledged
                      ? passed_on_by(by, alarm, site.lately)
                      : std::nullopt;
  if (!at) return {};
  const WatchView watch = site.door.watch();
  return name_in_words(by) + " passed it on at " + PageWords(watch).clock(*at) + " already.";
}

Answer show(unsigned status, const Site& site, const Request& request, const Visitor& visitor,
            const Link& link, const AlarmView& alarm, Said said) {
  const WatchView watch = site.door.watch();
  const PageWords words(watch);
  HtmlData data;
  const std::string what = words.fault(alarm) + ": " +
                           (alarm.cabinet_name.empty() ? link.alarm.cabinet : alarm.cabinet_name);
  put(data, "title", what);
  put(data, "what", what);
  put(data, "figures", words.figures(alarm));
  put(data, "since", words.since(alarm));
  put(data, "who", words.who(alarm));
  const auto told = told_of(site, alarm);
  put(data, "told", told_words(alarm, told, site.lately, words));
  const auto as = enrolled_as(visitor, link);
  const bool enrolled = as.has_value();
  if (said.done.empty()) said.done = passed_already(site, link, as.value_or(link.person), alarm);
  const bool nobody_left = link.deed == Deed::pass_on && told && !told->somebody_left;
  const bool open = said.done.empty() && !nobody_left && fits(link.deed, alarm);
  const bool can = open && (enrolled || has_pin(site, link));
  if (!can && said.wrong.empty() && open)
    said.wrong = "Nobody can answer by this link: " + link.person +
                 " has no PIN that may, and nobody who may is logged in on this phone.";
  put(data, "done", said.done);
  put(data, "wrong", said.wrong);
  put(data, "action", can ? word_of(link.deed) : "");
  put(data, "path", std::string(kBefore) + request.path.substr(kBefore.size()));
  put(data, "form_token", enrolled ? visitor.form_token : "");
  data.set("pin", !enrolled);
  put(data, "whose", link.person);
  put(data, "covers",
      "Nothing has been done yet. The button does it for all that the message told, in the name "
      "of " +
          as.value_or(link.person) + ".");
  Visitor shown = visitor;
  if (visitor.links_only) shown.by = Visitor::By::nobody;
  return html(status, document(kLink, data, site.gate.terms(), shown));
}

struct Opened {
  Link link;
  AlarmView alarm;
};
// The link and its alarm, or the page that says why not.
std::optional<Opened> open(const Site& site, const Request& request, const Visitor& visitor,
                           const Respond& respond) {
  const auto link = site.gate.links.read(request.path.substr(kBefore.size()),
                                         site.gate.terms().site, site.door.now().wall);
  if (!link) {
    respond(said(404, "This link leads nowhere", link.why(), "/", site, visitor));
    return std::nullopt;
  }
  auto alarm = alarm_of(site, *link);
  if (!alarm) {
    respond(said(410, "That is over",
                 "The alarm that this message told of has ended; nothing was done. What stands "
                 "now is on the page.",
                 "/", site, visitor));
    return std::nullopt;
  }
  return Opened{*link, std::move(*alarm)};
}

void carry_out(Site& site, const Request& request, const Visitor& visitor, const Link& link,
               const std::string& by, const Headers& cookie, const Respond& respond) {
  const auto before = alarm_of(site, link);
  std::string already = before ? passed_already(site, link, by, *before) : "";
  auto commands = already.empty() ? commands_for(link, by, std::nullopt, alarms_of(site))
                                  : std::vector<Command>();
  // A second use says who did it and when: the alarm's own words do.
  if (already.empty()) already = "It had been answered already.";
  carry_out_all(site.door, std::move(commands),
                [&site, request, visitor, link, by, already, cookie,
                 respond](const std::vector<Reply>& replies) {
                  std::string why;
                  bool done = false;
                  for (const Reply& reply : replies) {
                    done = done || reply.ok;
                    if (!reply.ok && why.empty()) why = reply.why;
                  }
                  const auto alarm = alarm_of(site, link);
                  Said what;
                  if (replies.empty()) what.done = already;
                  if (done && alarm) what.done = done_words(site, link, by, *alarm);
                  if (!why.empty()) what.wrong = (done ? "Not all of it: " : "Not done: ") + why;
                  Answer answer =
                      alarm ? show(done || replies.empty() ? 200 : 409, site, request, visitor,
                                   link, *alarm, what)
                            : said(200, done ? "Done" : "That is over",
                                   done ? "It is over meanwhile." : already, "/", site, visitor);
                  for (const auto& header : cookie) answer.headers.push_back(header);
                  respond(std::move(answer));
                });
}

}  // namespace

void get_link(Site& site, const Request& request, const Visitor& visitor, const Respond& respond) {
  if (const auto opened = open(site, request, visitor, respond))
    respond(show(200, site, request, visitor, opened->link, opened->alarm, {}));
}

void post_link(Site& site, const Request& request, const Visitor& visitor, const Respond& respond) {
  const auto opened = open(site, request, visitor, respond);
  if (!opened) return;
  const Link& link = opened->link;
  const auto fields = decoded_form(request.body);
  if (!fields) return respond(sentence(400, "The form cannot be read."));
  std::string token;
  std::string pin;
  bool remember = false;
  for (const auto& [name, value] : *fields) {
    if (name == "token") token = value;
    if (name == "pin") pin = value;
    if (name == "remember") remember = value == "yes";
  }
  if (const auto by = enrolled_as(visitor, link)) {
    if (auto refusal = site.gate.without_token(visitor, token))
      return respond(show(403, site, request, visitor, link, opened->alarm, {"", refusal->body}));
    return carry_out(site, request, visitor, link, *by, {}, respond);
  }
  if (pin.empty() || !has_pin(site, link))
    return respond(
        show(403, site, request, visitor, link, opened->alarm,
             {"", "Nothing was done: it takes the PIN, or a phone that is remembered."}));
  const Moment now = site.door.now();
  site.gate.check(link.person, Gate::Secret::pin, pin, site.gate.address_of(request), now,
                  [&site, request, visitor, link, alarm = opened->alarm, remember, now,
                   respond](std::optional<Answer> refusal) {
                    if (refusal) {
                      Answer answer = show(refusal->status, site, request, visitor, link, alarm,
                                           {"", refusal->body});
                      answer.headers = refusal->headers;
                      return respond(std::move(answer));
                    }
                    Headers cookie;
                    if (remember)
                      cookie.push_back(site.gate.open_session(request, link.person,
                                                              /*links_only=*/true, now.wall));
                    carry_out(site, request, visitor, link, link.person, cookie, respond);
                  });
}

MessageLinks links_for(Site& site, const Notification& message, Wall now) {
  MessageLinks links;
  const PageTerms& terms = site.gate.terms();
  if (terms.page.listen.empty() || message.episode.empty() || message.urgency == Urgency::quiet)
    return links;
  std::string base = terms.page.url;
  if (base.empty()) {
    if (terms.page.listen.starts_with("0.0.0.0:") || terms.page.listen.starts_with("[::]:"))
      return links;
    base = (terms.page.certificate_file.empty() ? "http://" : "https://") + terms.page.listen;
  }
  links.in_text = !terms.page.url.empty();
  constexpr std::size_t kOthers = 6;  // an address has to stay short; the page has the rest
  Link link = link_of(message, kOthers);
  link.expires = now + kLinkLife;
  const auto address = [&](Deed deed) {
    link.deed = deed;
    return base + std::string(kBefore) + site.gate.links.sign(link, terms.site, now);
  };
  links.acknowledge = address(Deed::acknowledge);
  links.snooze = address(Deed::snooze);
  links.pass_on = address(Deed::pass_on);
  return links;
}

}  // namespace clutchward
