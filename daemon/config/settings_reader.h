// The top of the configuration, in two steps, since profiles in files of their own lie on the
// site's rules and below what the configuration itself says.
#pragma once

#include "cabinet/settings.h"
#include "config/profile_shelf.h"
#include "config/section.h"

namespace clutchward {

class SettingsReader {
 public:
  // `root` must outlive the reader. Reads the site's rules and reports unknown keys.
  SettingsReader(const YamlNode& root, Faults& faults);

  const RulePatches& site_rules() const { return settings_.rules; }

  // Reads the rest, with `profiles:` laid on the shelf behind what stands there. Call once.
  Settings read(ProfileShelf profiles);

 private:
  void read_site();
  void read_machines();
  void read_profiles(ProfileShelf& shelf);
  void read_people();
  void read_rest();

  Section section_;
  Settings settings_;
};

}  // namespace clutchward
