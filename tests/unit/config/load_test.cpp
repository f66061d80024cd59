// Files and folders: where profiles come from, and what happens with files that are none.
#include "config/load.h"

#include <gtest/gtest.h>
#include <sys/stat.h>

#include <chrono>
#include <map>

#include "base/limits.h"
#include "folder.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

const std::string kBase =
    "site: Saltmere\n"
    "broker: { url: \"mqtt://127.0.0.1:1883\", base: clutchward/saltmere }\n"
    "patterns:\n"
    "  - { topic: \"farm/{cabinet}/{probe}/temperature\", quantity: temperature }\n"
    "contacts:\n"
    "  mara:\n"
    "    - { webhook: \"http://127.0.0.1:9000/alert\" }\n"
    "escalation:\n"
    "  - { after: 0s, notify: [mara] }\n";

std::string profile(int days) {
  return "days: " + std::to_string(days) +
         "\nstages:\n  - { name: setting, from_day: 0, target: 37.5 }\n";
}

std::vector<std::string> texts(const std::vector<Problem>& problems) {
  std::vector<std::string> lines;
  for (const Problem& problem : problems) lines.push_back(to_text(problem));
  return lines;
}
using Lines = std::vector<std::string>;

TEST(Profiles, OneMayExtendAnotherKeyByKey) {
  const Folder folder;
  folder.write("share/hen.yaml",
               "name: Hen\ndays: 21\nearliest: 20\nlatest: 22\npip: { from: 19.5, to: 20.5 }\n"
               "candling: [7, 14]\ntransfer_day: 18\n"
               "mass_loss: { by_day: 18, from: 11, to: 13 }\n"
               "rules: { warm: { offset: 0.7, delay: 30min }, hot: off }\n"
               "still: { rules: { high: { limit: 40.0 } } }\n"
               "stages:\n"
               "  - { name: setting, from_day: 0, target: 37.5, target_still: 38.9,\n"
               "      turn_every: 60min, humidity: { from: 50, to: 60 } }\n"
               "  - { name: lockdown, from_day: 18, target: 36.9, begins: moved,\n"
               "      rules: { low: { delay: 30min } } }\n");
  // A keeper's own file of the same name extends the one that it replaces.
  folder.write(
      "etc/profiles/hen.yaml",
      "based_on: hen\ncandling: [6]\nrules: { warm: { offset: 0.9 }, hot: { delay: 5min } }\n"
      "stages:\n"
      "  - { name: lockdown, rules: { low: { delay: 20min } } }\n"
      "  - { name: quiet, from_day: 16, target: 37.4, turn_at: [\"19:00\", \"07:00\"],\n"
      "      cooling: { for: 20min, due_by: \"18:00\" } }\n"
      "  - { name: setting, turn_every: any }\n");
  folder.write("etc/profiles/bantam.yaml", "based_on: hen\ndays: 20.5\nname: Bantam\n");
  const std::string file = folder.write("etc/clutchward.yaml", kBase);
  const Loaded loaded = load_settings(file, {folder.path("share")});
  ASSERT_EQ(texts(loaded.problems), Lines{});
  const Profile& hen = loaded.settings.profiles.at("hen");
  EXPECT_EQ(hen.name, "Hen");
  EXPECT_EQ(hen.based_on, "hen");
  EXPECT_EQ(hen.days, 21);
  EXPECT_EQ(hen.hatch, (DayWindow{20, 22}));
  EXPECT_EQ(hen.pip, (DayWindow{19.5, 20.5}));
  EXPECT_EQ(hen.candling, std::vector<double>{6});
  EXPECT_EQ(hen.transfer_day, 18);
  EXPECT_EQ(hen.mass_loss, (MassLossWanted{18, 11, 13}));
  EXPECT_EQ(hen.rules.at("warm").offset, 900);
  EXPECT_EQ(hen.rules.at("warm").delay, Span(30min));
  EXPECT_FALSE(hen.rules.at("hot").off);
  EXPECT_EQ(hen.rules.at("hot").offset, 1400);  // its built-in value is back
  EXPECT_EQ(hen.rules.at("hot").delay, Span(5min));
  EXPECT_EQ(hen.still_rules.at("high").limit, 40'000);
  ASSERT_EQ(hen.stages.size(), 3u);
  EXPECT_EQ(hen.stages[0].name, "setting");
  EXPECT_TRUE(hen.stages[0].turn_any);
  EXPECT_EQ(hen.stages[0].turn_every, std::nullopt);
  EXPECT_EQ(hen.stages[0].target_still, 38'900);
  EXPECT_EQ(hen.stages[0].humidity, (HumidityBand{50'000, 60'000}));
  EXPECT_EQ(hen.stages[1].name, "quiet");
  EXPECT_EQ(hen.stages[1].turn_at, (std::vector<Span>{7h, 19h}));
  ASSERT_EQ(hen.stages[1].cooling.size(), 1u);
  EXPECT_EQ(hen.stages[1].cooling[0].due_by, Span(18h));
  EXPECT_EQ(hen.stages[1].cooling[0].lasts, Span(20min));
  EXPECT_EQ(hen.stages[2].begins, Begins::moved);
  EXPECT_EQ(hen.stages[2].target, 36'900);
  EXPECT_EQ(hen.stages[2].rules.at("low").delay, Span(20min));
  // Others lean on the keeper's own.
  const Profile& bantam = loaded.settings.profiles.at("bantam");
  EXPECT_EQ(bantam.name, "Bantam");
  EXPECT_EQ(bantam.days, 20.5);
  EXPECT_EQ(bantam.stages, hen.stages);
  EXPECT_EQ(loaded.profile_files.at("hen"), folder.path("etc/profiles/hen.yaml"));
}

TEST(Profiles, AChainIsAtMostSixteenLong) {
  std::string text =
      kBase + "profiles:\n  p0: { days: 21, stages: [{ name: a, from_day: 0, target: 37.5 }] }\n";
  for (int i = 30; i >= 1; --i)
    text += "  p" + std::to_string(i) + ": { based_on: p" + std::to_string(i - 1) + " }\n";
  const Loaded loaded = parse_settings(text, "x");
  ASSERT_EQ(loaded.problems.size(), 1u);
  EXPECT_NE(loaded.problems[0].what.find("at most 16 others"), std::string::npos);
}

TEST(Profiles, AKeepersOwnReplacesAShippedOneAndTheConfigurationReplacesBoth) {
  const Folder folder;
  folder.write("share/hen.yaml", profile(21));
  folder.write("share/duck.yaml", profile(28));
  folder.write("share/goose.yaml", profile(30));
  folder.write("share/notes.txt", "no profile");
  folder.write("etc/profiles/duck.yaml", profile(27));
  folder.write("etc/profiles/goose.yaml", profile(29));
  const std::string file = folder.write(
      "etc/clutchward.yaml", kBase +
                                 "profiles:\n  goose:\n    days: 33\n    stages:\n"
                                 "      - { name: setting, from_day: 0, target: 37.3 }\n");
  const Loaded loaded = load_settings(file, {folder.path("share"), folder.path("nowhere")});
  EXPECT_EQ(texts(loaded.problems), Lines{});
  EXPECT_EQ(texts(loaded.warnings), Lines{});
  ASSERT_EQ(loaded.settings.profiles.size(), 3u);
  EXPECT_EQ(loaded.settings.profiles.at("hen").days, 21);
  EXPECT_EQ(loaded.settings.profiles.at("hen").id, "hen");
  EXPECT_EQ(loaded.settings.profiles.at("duck").days, 27);
  EXPECT_EQ(loaded.settings.profiles.at("goose").days, 33);
  // What the configuration replaces is no longer said to be from the file that it replaces.
  EXPECT_EQ(loaded.profile_files,
            (std::map<std::string, std::string>{{"hen", folder.path("share/hen.yaml")},
                                                {"duck", folder.path("etc/profiles/duck.yaml")}}));
}

TEST(Profiles, FaultsInAProfilesFileAreToldUnderItsOwnName) {
  const Folder folder;
  const std::string duck = folder.write("profiles/duck.yaml",
                                        "days: 28\nstages:\n"
                                        "  - { name: setting, from_day: 0, taget: 37.5 }\n"
                                        "rules: { overheat: { limit: 40 } }\n");
  const std::string empty = folder.write("profiles/hen.yaml", "# later\n");
  folder.write("profiles/goose.yml", profile(30));
  folder.write("profiles/.swp.yaml", "junk: [\n");
  const std::string blank = folder.write("profiles/my hen.yaml", profile(21));
  const std::string file = folder.write("clutchward.yaml", kBase + "shw: celsius\n");
  const Loaded loaded = load_settings(file, {});
  EXPECT_EQ(
      texts(loaded.problems),
      (Lines{file + ":10:1: unknown key \"shw\"; did you mean \"show\"?",
             duck + ":3:5: stages[1].target is missing; expected a temperature such as 37.5",
             duck + ":3:35: unknown key \"taget\" in stages[1]; did you mean \"target\"?",
             duck + ":4:20: rules.overheat belongs to the machine and cannot stand in a profile; "
                    "expected it in the site's rules",
             empty + ":1:1: the file is empty; expected a profile's keys, such as days and stages",
             blank + ":1:1: \"my hen\" cannot be the id of a profile; expected 1 to 64 bytes "
                     "without blanks, '/', '+' and '#' before .yaml"}));
  EXPECT_EQ(texts(loaded.warnings),
            Lines{folder.path("profiles") +
                  ":1:1: goose.yml is not read; expected profiles to end in .yaml"});
}

TEST(Profiles, LieOnTheSitesRules) {
  const Folder folder;
  folder.write("profiles/hen.yaml", profile(21) + "rules: { mine: { delay: 5min } }\n");
  const std::string file =
      folder.write("clutchward.yaml", kBase + "rules: { mine: { kind: above, offset: 1.0 } }\n");
  const Loaded loaded = load_settings(file, {});
  EXPECT_EQ(texts(loaded.problems), Lines{});
  EXPECT_EQ(loaded.settings.profiles.at("hen").rules.at("mine").delay, Span(5min));
}

TEST(Profiles, ThatCameBeforeMayBeUsedByBatchesFromMemory) {
  Profile hen;
  hen.id = "hen";
  hen.days = 21;
  hen.stages.emplace_back();
  const Loaded loaded = parse_settings(
      kBase + "batches: [{ id: b, profile: hen, cabinet: c, set_at: 2026-03-01T08:00:00+01:00 }]\n",
      "clutchward.yaml", {{"hen", hen}});
  EXPECT_EQ(texts(loaded.problems), Lines{});
  EXPECT_EQ(loaded.settings.batches.at(0).set_at,
            Wall(std::chrono::sys_days(std::chrono::year{2026} / 3 / 1) + 7h));
}

TEST(Files, ThatAreNoneAreAProblemEach) {
  const Folder folder;
  EXPECT_EQ(texts(load_settings(folder.path("nowhere.yaml"), {}).problems),
            Lines{folder.path("nowhere.yaml") +
                  ":1:1: the file cannot be read: No such file or directory"});
  EXPECT_EQ(texts(load_settings(folder.path(""), {}).problems),
            Lines{folder.path("") + ":1:1: the file is a directory; expected a file"});
  ASSERT_EQ(::mkfifo(folder.path("pipe.yaml").c_str(), 0600), 0);
  EXPECT_EQ(texts(load_settings(folder.path("pipe.yaml"), {}).problems),
            Lines{folder.path("pipe.yaml") + ":1:1: the file is no plain file; expected one"});
}

TEST(Files, ThatMayNotBeReadAreAProblem) {
  const Folder folder;
  const std::string file = folder.write("clutchward.yaml", kBase, 0000);
  // Root reads everything: as root, look as the user "nobody" does.
  const bool root = ::geteuid() == 0;
  ASSERT_EQ(::chmod(folder.path("").c_str(), 0755), 0);
  ASSERT_EQ(root ? ::seteuid(65534) : 0, 0);
  const Loaded loaded = load_settings(file, {});
  ASSERT_EQ(root ? ::seteuid(0) : 0, 0);
  EXPECT_EQ(texts(loaded.problems),
            Lines{file + ":1:1: the file cannot be read: Permission denied"});
}

TEST(Files, OfTwoMebibytesAreRefusedUnread) {
  const Folder folder;
  const std::string file =
      folder.write("clutchward.yaml", kBase + std::string(2 * 1024 * 1024, '#'));
  EXPECT_EQ(texts(load_settings(file, {}).problems),
            Lines{file + ":1:1: the file has more than 1048576 bytes; expected at most so many"});
  EXPECT_EQ(texts(parse_settings(std::string(limits::kConfigBytes + 1, ' '), "x").problems),
            Lines{"x:1:1: the file has 1048577 bytes; expected at most 1048576"});
}

TEST(Files, OfTheLargestSizeAreRead) {
  std::string text = kBase + "#";
  text.resize(limits::kConfigBytes - 1, 'x');
  EXPECT_EQ(texts(parse_settings(text + "\n", "x").problems), Lines{});
}

TEST(Files, ThatAreEmptyAreAProblem) {
  for (const std::string text : {"", "\n", "# only a comment\n", "---\n", "~\n"}) {
    EXPECT_EQ(texts(parse_settings(text, "x").problems),
              Lines{"x:1:1: the file is empty; expected at least site, broker and patterns"})
        << text;
  }
}

TEST(Files, RelativeNamesCountFromTheConfigurationsFolder) {
  const Folder folder;
  folder.write("secrets/ca.pem", "certificate");
  folder.write("secrets/broker.password", "open sesame");
  const std::string absolute = folder.write("elsewhere/key.pem", "key");
  const std::string file =
      folder.write("etc/clutchward.yaml",
                   "site: Saltmere\n"
                   "broker:\n  url: mqtts://[::1]:8883\n  base: a\n  user: watch\n"
                   "  password_file: ../secrets/broker.password\n  ca_file: ../secrets/ca.pem\n"
                   "  certificate_file: ../secrets/ca.pem\n  key_file: " +
                       absolute +
                       "\n"
                       "patterns: [{ topic: \"{cabinet}\", quantity: temperature }]\n");
  const Loaded loaded = load_settings(file, {});
  EXPECT_EQ(texts(loaded.problems), Lines{});
  const BrokerSettings& broker = loaded.settings.broker;
  EXPECT_EQ(broker.password_file, folder.path("secrets/broker.password"));
  EXPECT_EQ(broker.tls.ca_file, folder.path("secrets/ca.pem"));
  EXPECT_EQ(broker.tls.certificate_file, folder.path("secrets/ca.pem"));
  EXPECT_EQ(broker.tls.key_file, absolute);
  EXPECT_EQ(broker.user, "watch");
  EXPECT_EQ(broker.url, "mqtts://[::1]:8883");
}

}  // namespace
}  // namespace clutchward
