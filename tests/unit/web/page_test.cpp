// The page as a document: well-formed whatever the names are, no script inside it, and the answers
// that a person comes for.
#include "web/page.h"

#include <gmock/gmock.h>

#include <set>

#include "base/limits.h"
#include "base/text.h"
#include "fake_site.h"
#include "web/rule_words.h"

namespace clutchward {
namespace {

using testing::HasSubstr;
using testing::Not;

Overview overview(const WatchView& watch, const std::vector<CabinetView>& cabinets,
                  std::size_t page = 1) {
  Roll roll;
  for (const CabinetView& each : cabinets) roll.add(brief_of(each), watch.broker_linked);
  return overview_of(roll, watch, page, [&](const std::string& id) -> std::optional<CabinetView> {
    for (const CabinetView& each : cabinets)
      if (each.id == id) return each;
    return std::nullopt;
  });
}

// The page with plain blanks before its degrees, as somebody sees it who may answer.
std::string page_of(const WatchView& watch, const std::vector<CabinetView>& cabinets,
                    std::size_t number = 1) {
  PageTerms terms;
  terms.site = watch.site;
  terms.people["mara"] = {};
  const Visitor mara{Visitor::By::session, "mara", Role::answer, false, "token"};
  AlarmEvent event;
  event.at = watch.now;
  event.key = {"setter-a", "hens-setter-a", "high"};
  event.by = watch.site;
  std::string page = page_html({watch, terms, mara, {event}}, overview(watch, cabinets, number));
  EXPECT_THAT(page, Not(HasSubstr(" °")));
  for (auto found = page.find("\u00a0°"); found != page.npos; found = page.find("\u00a0°", found))
    page.replace(found, 2, " ");
  return page;
}

// The elements' names in order, closing ones with a slash; fails the test where tags do not match,
// an attribute is not quoted or a stray '<', '>' or '&' stands in the text.
std::vector<std::string> shape(const std::string& html) {
  static const std::set<std::string> kVoid = {"meta", "link", "!doctype", "input"};
  std::vector<std::string> tags;
  std::vector<std::string> open;
  std::size_t at = 0;
  while (at < html.size()) {
    if (html[at] == '&') {
      const auto end = html.find(';', at);
      EXPECT_TRUE(end != std::string::npos && end - at <= 7) << html.substr(at, 20);
      ++at;
    } else if (html[at] != '<') {
      EXPECT_NE(html[at], '>') << html.substr(at > 20 ? at - 20 : 0, 40);
      ++at;
    } else {
      const auto end = html.find('>', at);
      const std::string inside = html.substr(at + 1, end - at - 1);
      EXPECT_EQ(inside.find('<'), std::string::npos) << inside;
      EXPECT_EQ(std::count(inside.begin(), inside.end(), '"') % 2, 0) << inside;
      const std::string name = inside.substr(0, inside.find(' '));
      tags.push_back(name);
      if (name[0] == '/') {
        EXPECT_TRUE(!open.empty() && "/" + open.back() == name) << inside;
        if (!open.empty()) open.pop_back();
      } else if (!kVoid.contains(name)) {
        open.push_back(name);
      }
      at = end + 1;
    }
  }
  EXPECT_TRUE(open.empty());
  return tags;
}

TEST(Page, AnswersWhatAPersonComesFor) {
  const std::string page = page_of(test::watch(), test::saltmere());
  EXPECT_THAT(page, HasSubstr("<title>1 of 5 cabinets needs you - Saltmere</title>"));
  EXPECT_THAT(
      page, HasSubstr("</span> 1 of 5 cabinets needs you</h1>\n<p>As of <span id=\"now\">09:12:05 "
                      "GMT</span>. Newest reading 4 s ago. Broker connected. Last message out "
                      "09:00.</p>"));
  EXPECT_THAT(page,
              HasSubstr("<strong>Too hot</strong> (high of hens-setter-a) 39.8 °C, limit 39.5 "
                        "°C, worst 40.1 °C"));
  EXPECT_THAT(page, HasSubstr("Since 09:00 (12 min), high priority"));
  EXPECT_THAT(page, HasSubstr("Nobody has it yet"));
  EXPECT_THAT(page, HasSubstr("<p class=\"who\">Mara has it since 09:05</p>"));
  EXPECT_THAT(page, HasSubstr("Domestic hen, day 12 of 21, setting, target 37.5 °C"));
  EXPECT_THAT(page, HasSubstr("39.8 °C <span class=\"trend\">rising</span>"));
  EXPECT_THAT(page, HasSubstr("last 37.4 °C"));
  EXPECT_THAT(page, HasSubstr("No eggs set: only the machine is watched"));
  EXPECT_THAT(page, Not(HasSubstr("class=\"doubts\"")));
  EXPECT_LT(page.find("Setter A"), page.find("Hatcher 1"));
  EXPECT_LT(page.find("Hatcher 1"), page.find("Setter B"));
  shape(page);
}

TEST(Page, SaysWhyItMightNotBeTrusted) {
  WatchView watch = test::watch();
  watch.broker_linked = false;
  watch.broker_since = test::at("2026-03-13T08:50:00Z");
  watch.store_writable = false;
  watch.store_trouble = "no space left on the disk";
  watch.clock_trusted = false;
  watch.channels[0].trouble = "the mail server refuses";
  watch.alarms = {test::alarm("", "", "broker", AlarmState::unacknowledged)};
  watch.alarms[0].kind = RuleKind::broker;
  watch.faults = {{"THE WATCH RUNS LATE", "It did not look\nfor 20s.",
                   test::at("2026-03-13T08:40:00Z"), Shown::as_fault},
                  {"THE CLOCK WAS STEPPED", "By 3 min.", test::at("2026-03-13T08:42:00Z"),
                   Shown::as_fault, true},
                  {"THE STATE CANNOT BE SAVED", "Said above.", test::at("2026-03-13T08:41:00Z"),
                   Shown::elsewhere}};
  watch.beats_withheld = "no readings arrive";
  const std::string page = page_of(watch, {});
  EXPECT_THAT(page, HasSubstr("</span> The watch itself needs you</h1>"));
  EXPECT_THAT(page, HasSubstr("THE WATCH RUNS LATE since 08:40: It did not look for 20s."));
  EXPECT_THAT(page, HasSubstr("THE CLOCK WAS STEPPED at 08:42: By 3 min."));
  EXPECT_THAT(page, Not(HasSubstr("THE STATE CANNOT BE SAVED")));
  EXPECT_THAT(page, HasSubstr("Outside watchers are given no sign of life: no readings arrive."));
  EXPECT_THAT(page, HasSubstr("The connection to the broker is lost since 08:50 (22 min)"));
  EXPECT_THAT(page, HasSubstr("What happens now cannot be saved: no space left on the disk."));
  EXPECT_THAT(page, HasSubstr("The clock of this machine has not been set"));
  EXPECT_THAT(page,
              HasSubstr("Messages to mara by email do not get out: the mail server refuses."));
  EXPECT_THAT(page, HasSubstr("Broker connection lost"));
  shape(page);
}

TEST(Page, HostileNamesDoNotChangeTheDocument) {
  const auto with = [](const std::string& name) {
    auto cabinets = test::saltmere();
    for (CabinetView& each : cabinets) {
      each.name = name;
      for (BatchView& batch : each.batches) batch.id = batch.name = batch.stage = name;
      for (AlarmView& alarm : each.alarms) {
        alarm.key.alarm = alarm.key.batch = name;
        if (alarm.acknowledged) alarm.acknowledged_by = name;
      }
      each.attending_by = name;
      each.attending_until = test::at("2026-03-13T10:00:00Z");
    }
    WatchView watch = test::watch();
    watch.site = name;
    watch.channels[0].contact = watch.channels[0].trouble = name;
    return page_of(watch, cabinets);
  };
  const auto plain = shape(with("Setter"));
  for (const std::string& name :
       {std::string("<script>alert(1)</script>"), std::string("\"><img src=x onerror=alert(1)>"),
        std::string("'><svg/onload=alert(1)>"), std::string("</title><script>"),
        std::string("{{site}}{{{site}}}{{#cabinets}}"), std::string("&lt;&#60;&"),
        std::string("a\0b\x01\x1b[31m\x7f", 10), std::string("\xff\xfe\xc0\xaf"),
        std::string("\xe2\x80\xae"
                    "desrever"),
        std::string("-->"), std::string("<!--"), std::string("]]>"),
        std::string("javascript:alert(1)"), std::string(5000, '<')}) {
    const std::string page = with(name);
    EXPECT_EQ(shape(page), plain) << printable(name);
    EXPECT_TRUE(valid_utf8(page));
    EXPECT_EQ(page.find("<script", page.find("<script") + 1), std::string::npos);
    EXPECT_THAT(page, Not(HasSubstr("<img")));
    EXPECT_TRUE(std::none_of(page.begin(), page.end(), [](char c) {
      return c != '\n' && static_cast<unsigned char>(c) < 0x20;
    }));
  }
}

TEST(Page, OffersWhatCanBeDoneAndNothingElse) {
  auto cabinets = test::saltmere();
  cabinets = {cabinets.back()};
  const auto buttons = [&] {
    const std::string page = page_of(test::watch(), cabinets);
    std::set<std::string> names;
    for (auto at = page.find("<button"); at != page.npos; at = page.find("<button", at + 1)) {
      const auto from = page.find('>', at) + 1;
      names.insert(page.substr(from, page.find('<', from) - from));
    }
    return names;
  };
  AlarmView& alarm = cabinets[0].alarms[0];
  alarm.acknowledge_holds = std::chrono::minutes{30};
  const std::set<std::string> always = {
      "10 min", "20 min", "45 min", "1 h", "2 h", "I am at the cabinet", "Log out"};
  const auto with = [&](std::set<std::string> more) {
    more.insert(always.begin(), always.end());
    return more;
  };
  EXPECT_EQ(buttons(), with({"Acknowledge", "Snooze 30 min", "Pass on"}));
  EXPECT_THAT(page_of(test::watch(), cabinets), HasSubstr("I am going; rings again 09:42."));
  alarm.state = AlarmState::acknowledged;
  alarm.acknowledged = true;
  EXPECT_EQ(buttons(), with({"Snooze 30 min"}));
  alarm.snoozed_until = test::at("2026-03-13T09:40:00Z");
  EXPECT_EQ(buttons(), with({"Snooze 30 min", "End the snooze"}));
  alarm.snoozed_until.reset();
  alarm.active = false;
  alarm.state = AlarmState::latched;
  EXPECT_EQ(buttons(), (std::set<std::string>{"Reset", "I am at the cabinet", "Log out"}));
  alarm.state = AlarmState::normal;
  cabinets[0].attending_until = test::at("2026-03-13T09:40:00Z");
  EXPECT_EQ(buttons(), (std::set<std::string>{"I have left the cabinet", "Log out"}));
}

// Whoever has it need not be asked when it comes back.
TEST(Page, SaysWhenAnAnsweredAlarmRingsAgain) {
  auto cabinets = test::saltmere();
  cabinets[3].alarms[0].rings_again_at = test::at("2026-03-13T09:35:00Z");
  EXPECT_THAT(page_of(test::watch(), cabinets),
              HasSubstr("<p class=\"who\">Mara has it since 09:05, rings again 09:35</p>"));
}

TEST(Page, SaysWhoWasToldAndWhoPassedItOn) {
  const WatchView watch = test::watch();
  PageTerms terms;
  terms.site = watch.site;
  const Visitor mara{Visitor::By::session, "mara", Role::answer, false, "token"};
  const auto event = [](const char* at, EventKind kind) {
    AlarmEvent out;
    out.at = test::at(at);
    out.key = {"setter-a", "hens-setter-a", "high"};
    out.kind = kind;
    out.by = "joss";
    return out;
  };
  WhoKnows told{{"mara"}, {"joss"}, true};
  const auto page = [&](const std::deque<AlarmEvent>& lately) {
    PageScene scene{watch, terms, mara, lately};
    scene.told = [&](const AlarmView&) { return std::optional(told); };
    return page_html(scene, overview(watch, test::saltmere()));
  };
  EXPECT_THAT(page({}), HasSubstr("<p class=\"note\">Told: Mara. On its way to: Joss.</p>"));
  EXPECT_THAT(page({}), HasSubstr("value=\"pass_on\""));
  const auto passed = event("2026-03-13T09:03:00Z", EventKind::passed_on);
  told = {{"mara", "joss", "tam"}, {}, false};
  const std::string last = page({passed});
  EXPECT_THAT(last, HasSubstr("<p class=\"note\">Told: Mara, Joss and Tam. Joss passed it on at "
                              "09:03. Nobody is left to pass it on to.</p>"));
  EXPECT_THAT(last, Not(HasSubstr("value=\"pass_on\"")));
  // Of an earlier time that it rang nothing is said.
  EXPECT_THAT(page({passed, event("2026-03-13T09:04:00Z", EventKind::raised_again)}),
              Not(HasSubstr("passed it on at")));
}

TEST(Page, SaysInTrueWordsWhyARuleWaitsAndWhatIsBack) {
  auto cabinets = test::saltmere();
  cabinets = {cabinets[0]};
  AlarmView silent = test::alarm("setter-b", "", "silent", AlarmState::suppressed);
  silent.kind = RuleKind::silent;
  silent.suppressed_for = {"broker_lost"};
  cabinets[0].alarms = {silent};
  WatchView watch = test::watch();
  watch.broker_since = test::at("2026-03-13T09:10:00Z");
  const std::string page = page_of(watch, cabinets);
  EXPECT_THAT(page, HasSubstr("</span> The cabinet is in range</h1>"));
  EXPECT_THAT(page, HasSubstr("No readings (silent): connected to the broker only since 09:10, so "
                              "it waits until news could have come"));
  watch.broker_linked = false;
  EXPECT_THAT(page_of(watch, cabinets), HasSubstr("No readings (silent): the broker is away"));
  AlarmView& alarm = cabinets[0].alarms[0];
  alarm.state = AlarmState::latched;
  alarm.suppressed_for.clear();
  alarm.returned_at = test::at("2026-03-13T09:11:00Z");
  EXPECT_THAT(page_of(watch, cabinets), HasSubstr("Readings are back since 09:11"));
  EXPECT_THAT(page_of(watch, cabinets), HasSubstr("</span> Readings are back, have a look</p>"));
}

TEST(Page, TurnsThePagesOfManyTheWorstFirst) {
  std::vector<CabinetView> many;
  for (int i = 0; i < 120; ++i) many.push_back(test::cabinet("c" + std::to_string(i), "", 37'500));
  many.push_back(test::saltmere().back());
  const std::string page = page_of(test::watch(), many);
  EXPECT_LT(page.find("Setter A"), page.find("c0"));
  EXPECT_THAT(page, HasSubstr("Cabinets 1 to 50 of 121, the worst first"));
  EXPECT_THAT(page, HasSubstr("<a href=\"/?page=2\">The next ones</a>"));
  EXPECT_THAT(page, Not(HasSubstr("Worse ones")));
  const auto tags = shape(page);
  EXPECT_EQ(std::count(tags.begin(), tags.end(), "article"),
            static_cast<long>(limits::kPageCabinets));
  const std::string last = page_of(test::watch(), many, 3);
  EXPECT_THAT(last, HasSubstr("Cabinets 101 to 121 of 121, the worst first"));
  EXPECT_THAT(last, HasSubstr("1 of 121 cabinets needs you"));
  EXPECT_THAT(last, HasSubstr("<a href=\"/?page=2\">Worse ones</a>"));
  EXPECT_THAT(last, Not(HasSubstr("The next ones")));
  EXPECT_THAT(last, HasSubstr("action=\"/do?cabinet=c99&amp;to=%2F%3Fpage%3D3\""));
  EXPECT_EQ(page_of(test::watch(), many, 999), last);
  EXPECT_THAT(page_of(test::watch(), test::saltmere()), Not(HasSubstr("the worst first")));
}

// What happened before the last look is not told again; who is not known is told of a day.
TEST(Page, TellsWhatHappenedSinceTheLastLook) {
  const WatchView watch = test::watch();
  PageTerms terms;
  terms.site = watch.site;
  const Visitor mara{Visitor::By::session, "mara", Role::answer, false, "token"};
  const auto event = [](const char* at, EventKind kind) {
    AlarmEvent out;
    out.at = test::at(at);
    out.key = {"setter-a", "hens-setter-a", "high"};
    out.kind = kind;
    return out;
  };
  const std::deque<AlarmEvent> lately = {event("2026-03-12T03:00:00Z", EventKind::reset),
                                         event("2026-03-13T02:14:00Z", EventKind::raised),
                                         event("2026-03-13T02:30:00Z", EventKind::returned)};
  PageScene scene{watch, terms, mara, lately};
  const auto shown = overview(watch, test::saltmere());
  const std::string day = page_html(scene, shown);
  EXPECT_THAT(day, HasSubstr("In the last 24 hours"));
  EXPECT_THAT(day, HasSubstr("<b>02:14</b> <bdi>setter-a</bdi>: high of hens-setter-a: raised"));
  EXPECT_THAT(day, Not(HasSubstr(": reset")));
  scene.last_look = test::at("2026-03-13T02:20:00Z");
  const std::string since = page_html(scene, shown);
  EXPECT_THAT(since, HasSubstr("Since you last looked"));
  EXPECT_THAT(since, HasSubstr("You looked at 02:20. "));
  EXPECT_THAT(since, HasSubstr(": returned"));
  EXPECT_THAT(since, Not(HasSubstr(": raised")));
  HtmlData one;
  put_happened(one, {watch, terms, mara, lately, {}, test::at("2026-03-13T02:10:00Z")}, "", 1);
  EXPECT_EQ(one.get("happened_note")->string_value(),
            "You looked at 02:10. Before these there was 1 more.");
  scene.last_look = test::at("2026-03-13T02:31:00Z");
  EXPECT_THAT(page_html(scene, shown),
              HasSubstr("You looked at 02:31. Nothing has happened since."));
  scene.last_look = test::at("2026-03-12T02:00:00Z");
  EXPECT_THAT(page_html(scene, shown), HasSubstr("You looked at 12 Mar 02:00. "));
}

TEST(Page, SpeaksFahrenheitWhereTheSiteDoes) {
  WatchView watch = test::watch();
  watch.show = Show::fahrenheit;
  const std::string page = page_of(watch, test::saltmere());
  EXPECT_THAT(page, HasSubstr("103.6 °F, limit 103.1 °F"));
  EXPECT_THAT(page, HasSubstr("target 99.5 °F"));
  EXPECT_THAT(page, Not(HasSubstr("°C")));
}

TEST(Page, ShowsAsManyDecimalsAsTellValueFromLimit) {
  auto cabinets = test::saltmere();
  cabinets.back().alarms[0].value = 39'510;
  cabinets.back().alarms[0].worst = 39'510;
  EXPECT_THAT(page_of(test::watch(), cabinets), HasSubstr("39.51 °C, limit 39.50 °C"));
}

TEST(Page, TimesOfAnotherDayCarryIt) {
  auto cabinets = test::saltmere();
  cabinets.back().alarms[0].since = test::at("2026-03-12T23:50:00Z");
  EXPECT_THAT(page_of(test::watch(), cabinets), HasSubstr("Since 12 Mar 23:50 (9 h 22 min)"));
}

TEST(Page, NeedsNothingFromElsewhere) {
  const std::string page = page_of(test::watch(), test::saltmere());
  EXPECT_THAT(page, Not(HasSubstr("://")));
  EXPECT_THAT(page, Not(HasSubstr("style=")));
  EXPECT_THAT(page, Not(HasSubstr("<style")));
  EXPECT_THAT(page, HasSubstr("<noscript><meta http-equiv=\"refresh\" content=\"60\"></noscript>"));
  EXPECT_THAT(std::string(kPageStyle), Not(HasSubstr("url(")));
  EXPECT_THAT(std::string(kPageStyle), HasSubstr("prefers-color-scheme: dark"));
}

// What is done and what is long past is left out; the soonest stands first.
TEST(Page, SaysWhatComesNext) {
  const WatchView watch = test::watch();
  PageTerms terms;
  terms.site = watch.site;
  const Visitor mara{Visitor::By::session, "mara", Role::answer, false, "token"};
  auto batches = test::standings();
  batches.front().dates.front().done = true;
  const std::string page =
      page_html({watch, terms, mara, {}, batches}, overview(watch, test::saltmere()));
  EXPECT_THAT(page, HasSubstr("What comes next"));
  EXPECT_THAT(page, HasSubstr("<bdi>Setter A, geese-3</bdi>: Weigh the eggs: day 14"));
  EXPECT_LT(page.find("Weigh the eggs: day 14"), page.find("Hatching expected"));
  EXPECT_THAT(page, Not(HasSubstr("Candle: day 10")));
  shape(page);

  batches.front().dates.front().done = false;  // two days ago, and nobody noted it
  const std::string late =
      page_html({watch, terms, mara, {}, batches}, overview(watch, test::saltmere()));
  EXPECT_THAT(late, HasSubstr("Candle: day 10 (not noted as done)"));
  EXPECT_THAT(page_html({watch, terms, mara, {}, {}}, overview(watch, test::saltmere())),
              Not(HasSubstr("What comes next")));
}

TEST(Page, SaysThePriorityThatARuleHasNow) {
  RuleInForce each = test::rules().front();
  EXPECT_THAT(rule_words(each, test::watch()), HasSubstr("; high priority"));
  EXPECT_THAT(rule_words(each, test::watch(), Priority::low), HasSubstr("; low priority"));
  each.rule.by_third = {Priority::high, Priority::medium, Priority::low};
  EXPECT_THAT(rule_words(each, test::watch(), Priority::medium),
              HasSubstr("; medium priority now, by the third of the incubation"));
}

}  // namespace
}  // namespace clutchward
