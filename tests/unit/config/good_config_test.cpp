// The example of the interfaces becomes exactly these values; the configuration that is shipped,
// and the profiles beside it, load without a word.
#include <gtest/gtest.h>

#include <chrono>

#include "config/load.h"
#include "folder.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

std::vector<std::string> texts(const std::vector<Problem>& problems) {
  std::vector<std::string> lines;
  for (const Problem& problem : problems) lines.push_back(to_text(problem));
  return lines;
}
const std::vector<std::string> kNone;

Settings expected_settings(const Folder& folder) {
  Settings settings;
  settings.site = "Saltmere";
  settings.timezone = "Europe/Dublin";
  settings.show = Show::celsius;
  settings.broker.url = "mqtt://127.0.0.1:1883";
  settings.broker.base = "clutchward/saltmere";

  TopicPattern probes;
  probes.topic = "farm/{cabinet}/{probe}/temperature";
  probes.quantity = Quantity::temperature;
  TopicPattern turns;
  turns.topic = "farm/{cabinet}/turned";
  turns.quantity = Quantity::turn;
  TopicPattern meter;
  meter.topic = "meters/{cabinet}/json";
  meter.fields = {{"/outer/temperature", "top", Quantity::temperature, Unit::fahrenheit},
                  {"/outer/humidity", "", Quantity::humidity, Unit::own}};
  settings.patterns = {probes, turns, meter};

  CabinetSettings& setter = settings.cabinets["setter-a"];
  setter.name = "Setter A";
  setter.combine = Combine::median;
  setter.offsets = {{"top", -200}};
  setter.probes = {{"hall", Part::room}};
  setter.machine = MachineType::forced;
  setter.turner = true;

  RulePatch& high = settings.rules["high"];
  high.kind = RuleKind::above;
  high.offset = 2000;
  high.deadband = 200;
  high.delay = 0s;
  high.latch = true;
  high.snooze_max = 2h;
  high.priority = Priority::high;
  high.worse_by = MilliOrOff{1000};
  RulePatch& low = settings.rules["low"];
  low.kind = RuleKind::below;
  low.offset = 3000;
  low.deadband = 200;
  low.delay = 60min;
  low.latch = true;
  low.priority = Priority::high;
  low.warm_up = 3h;
  settings.rules["silent"].kind = RuleKind::silent;
  settings.rules["silent"].after = 5min;
  settings.rules["warm"].off = true;

  Profile& hen = settings.profiles["bench-hen"];
  hen.id = "bench-hen";
  hen.name = "Domestic hen";
  hen.days = 21;
  Stage setting;
  setting.name = "setting";
  setting.target = 37500;
  setting.turn_every = 45min;
  Stage lockdown;
  lockdown.name = "lockdown";
  lockdown.from = 18 * 24h;
  lockdown.target = 37200;
  hen.stages = {setting, lockdown};

  BatchSettings batch;
  batch.id = "hens-12";
  batch.profile = "bench-hen";
  batch.cabinet = "setter-a";
  batch.set_at = std::chrono::sys_days(2026y / 3 / 1) + 8h;
  batch.eggs = 48;
  batch.rules["low"].delay = 45min;
  settings.batches = {batch};

  ChannelSettings webhook;
  webhook.webhook = WebhookChannel{};
  webhook.webhook->url = "http://127.0.0.1:9000/alert";
  webhook.webhook->secret_file = folder.path("webhook.secret");
  ChannelSettings email;
  email.email = EmailChannel{"mara@saltmere.example"};
  settings.contacts["mara"] = {webhook, email};
  settings.smtp.url = "smtp://127.0.0.1:2525";
  settings.smtp.from = "clutchward@saltmere.example";
  settings.recovery = 60min;
  settings.gather = 10s;
  settings.max_cabinets = 10'000;
  settings.escalation = {{0s, {"mara"}}};
  settings.page.listen = "127.0.0.1:8742";
  return settings;
}

std::string interfaces_text() { return read_whole_file(TEST_DATA "/good_config/interfaces.yaml"); }

TEST(GoodConfig, InterfacesExampleBecomesExactlyTheseValues) {
  const Folder folder;
  const std::string file = folder.write("clutchward.yaml", interfaces_text());
  folder.write("webhook.secret", "whsec_c2FsdG1lcmU=\n");
  const Loaded loaded = load_settings(file, {});
  EXPECT_EQ(texts(loaded.problems), kNone);
  EXPECT_EQ(texts(loaded.warnings), kNone);
  EXPECT_EQ(loaded.settings, expected_settings(folder));
}

TEST(GoodConfig, ReadsTheSameFromCrlfLinesAndAfterAByteOrderMark) {
  const Folder folder;
  folder.write("webhook.secret", "whsec_c2FsdG1lcmU=\n");
  std::string text = "\xEF\xBB\xBF";
  for (const char c : interfaces_text())
    text += c == '\n' ? std::string("\r\n") : std::string(1, c);
  const Loaded loaded = parse_settings(text, folder.path("clutchward.yaml"));
  EXPECT_EQ(texts(loaded.problems), kNone);
  EXPECT_EQ(loaded.settings, expected_settings(folder));
}

TEST(GoodConfig, ASecretThatEverybodyCanReadIsAWarning) {
  const Folder folder;
  const std::string file = folder.write("clutchward.yaml", interfaces_text());
  const std::string secret = folder.write("webhook.secret", "whsec_c2FsdG1lcmU=\n", 0644);
  const Loaded loaded = load_settings(file, {});
  EXPECT_EQ(texts(loaded.problems), kNone);
  EXPECT_EQ(
      texts(loaded.warnings),
      std::vector<std::string>{
          file + ":35:62: contacts.mara[1].secret_file names " + secret +
          ", which everybody on this machine can read; expected only its owner to (chmod 600)"});
}

TEST(GoodConfig, TheShippedExampleLoadsWithoutAWord) {
  const Loaded loaded = load_settings(PROJECT_ROOT "/config/clutchward.yaml", {});
  EXPECT_EQ(texts(loaded.problems), kNone);
  EXPECT_EQ(texts(loaded.warnings), kNone);
  EXPECT_EQ(loaded.settings.site, "Saltmere");
  EXPECT_EQ(loaded.settings.batches.size(), 2u);
}

TEST(GoodConfig, TheShippedExampleLoadsTheSameWithItsProfilesNamedAsInstalled) {
  const std::string profiles = PROJECT_ROOT "/config/profiles";
  EXPECT_EQ(load_settings(PROJECT_ROOT "/config/clutchward.yaml", {profiles}).settings,
            load_settings(PROJECT_ROOT "/config/clutchward.yaml", {}).settings);
}

// Days and transfer days of the reposted extension table of common birds (seen; see the sheet
// incubation-facts, check 18): chicken 21/18, duck 28/25, goose 30/27.
TEST(GoodConfig, ShippedProfilesKeepTheTablesDays) {
  const Settings settings = load_settings(PROJECT_ROOT "/config/clutchward.yaml", {}).settings;
  const auto check = [&](const std::string& id, double days, int lockdown) {
    ASSERT_TRUE(settings.profiles.contains(id)) << id;
    const Profile& profile = settings.profiles.at(id);
    EXPECT_EQ(profile.days, days) << id;
    EXPECT_EQ(profile.stages.back().name, "lockdown") << id;
    EXPECT_EQ(profile.stages.back().from, Span(lockdown * 24h)) << id;
    EXPECT_EQ(profile.stages.back().target, 36900) << id;
    EXPECT_FALSE(profile.stages.back().turn_every) << id;
    EXPECT_EQ(profile.stages.front().turn_every, Span(60min)) << id;
  };
  check("hen", 21, 18);
  check("duck", 28, 25);
  check("goose", 30, 27);
}

}  // namespace
}  // namespace clutchward
