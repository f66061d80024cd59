// Where each word of a rule comes from, beside what resolve_rules makes of the same layers.
#include "rules/origin.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <set>

namespace clutchward {
namespace {

using namespace std::chrono_literals;

const RuleOrigin* of(const std::vector<RuleOrigin>& origins, const std::string& layer) {
  for (const RuleOrigin& each : origins)
    if (each.layer == layer) return &each;
  return nullptr;
}

bool says(const std::vector<RuleOrigin>& origins, const std::string& layer,
          const std::string& key) {
  const RuleOrigin* origin = of(origins, layer);
  return origin != nullptr &&
         std::find(origin->keys.begin(), origin->keys.end(), key) != origin->keys.end();
}

TEST(RuleOrigin, LaterLayersTakeKeysOver) {
  RulePatches site;
  site["high"].delay = 2min;
  RulePatches batch;
  batch["high"].delay = 5min;
  batch["high"].limit = 39'000;
  const auto origins = origin_of(
      "high", {{"built-in", &built_in_rules()}, {"configuration", &site}, {"batch", &batch}});
  EXPECT_TRUE(says(origins, "built-in", "kind"));
  EXPECT_TRUE(says(origins, "batch", "delay"));
  EXPECT_TRUE(says(origins, "batch", "limit"));
  EXPECT_FALSE(says(origins, "built-in", "offset"));  // the limit takes it away
  EXPECT_EQ(of(origins, "configuration"), nullptr);   // nothing of it holds
  EXPECT_EQ(origins.front().layer, "built-in");
}

TEST(RuleOrigin, OffAndBroughtBack) {
  RulePatches off;
  off["warm"].off = true;
  RulePatches back;
  back["warm"].delay = 30min;
  const std::vector<NamedLayer> layers = {
      {"built-in", &built_in_rules()}, {"configuration", &off}, {"batch", &back}};
  EXPECT_TRUE(origin_of("warm", {layers[0], layers[1]}).empty());
  const auto origins = origin_of("warm", layers);
  EXPECT_TRUE(says(origins, "built-in", "offset"));
  EXPECT_TRUE(says(origins, "batch", "delay"));
  EXPECT_EQ(of(origins, "configuration"), nullptr);
  EXPECT_TRUE(origin_of("nobody", layers).empty());
}

TEST(RuleOrigin, RuleOfOnesOwn) {
  RulePatches site;
  site["mine"].kind = RuleKind::above;
  site["mine"].limit = 38'000;
  const auto origins =
      origin_of("mine", {{"built-in", &built_in_rules()}, {"configuration", &site}});
  ASSERT_EQ(origins.size(), 1U);
  EXPECT_EQ(origins[0], (RuleOrigin{"configuration", {"kind", "limit"}}));
}

// Every rule that holds has an origin, and no other has.
TEST(RuleOrigin, AgreesWithTheResolvedRules) {
  RulePatches site;
  site["warm"].off = true;
  site["mine"].kind = RuleKind::below;
  site["mine"].offset = 500;
  std::set<std::string> ids;
  for (const auto& [id, unused] : built_in_rules()) ids.insert(id);
  ids.insert("mine");
  const auto rules = resolve_rules({&built_in_rules(), &site});
  for (const std::string& id : ids) {
    const bool holds =
        std::any_of(rules.begin(), rules.end(), [&](const Rule& rule) { return rule.id == id; });
    EXPECT_EQ(!origin_of(id, {{"built-in", &built_in_rules()}, {"configuration", &site}}).empty(),
              holds)
        << id;
  }
}

}  // namespace
}  // namespace clutchward
