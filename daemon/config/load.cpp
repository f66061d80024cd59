// Reads the configuration's files and puts what they say together.
#include "config/load.h"

#include <algorithm>
#include <filesystem>
#include <memory>
#include <set>
#include <system_error>
#include <utility>

#include "base/limits.h"
#include "base/text.h"
#include "config/file_check.h"
#include "config/profile_shelf.h"
#include "config/settings_reader.h"

namespace clutchward {

namespace {

namespace fs = std::filesystem;

// One file a species; the world's poultry fits in many times over.
constexpr std::size_t kProfileFiles = 256;

void collect(const Faults& faults, Loaded& loaded) {
  const auto append = [](std::vector<Problem>& to, std::vector<Problem> from) {
    to.insert(to.end(), std::make_move_iterator(from.begin()), std::make_move_iterator(from.end()));
  };
  append(loaded.problems, faults.problems());
  append(loaded.warnings, faults.warnings());
}

void sort_by_file(std::vector<Problem>& problems) {
  std::stable_sort(problems.begin(), problems.end(),
                   [](const Problem& a, const Problem& b) { return a.file < b.file; });
}

// The root of a file's tree, or none and a fault.
std::optional<YamlNode> read_tree(std::string_view text, const std::string& expected,
                                  Faults& faults) {
  std::optional<YamlNode> root = read_yaml(text, faults);
  if (root && root->kind == YamlNode::Kind::nothing) {
    faults.add({}, "the file is empty; expected " + expected);
    return std::nullopt;
  }
  return root;
}

// One profile's file for as long as profiles lean on each other.
struct ProfileFile {
  explicit ProfileFile(const std::string& path) : faults(path) {}
  Faults faults;
  std::optional<YamlNode> root;
};
using ProfileFiles = std::vector<std::unique_ptr<ProfileFile>>;

void load_profile(const fs::path& path, Loaded& loaded, ProfileFiles& files, ProfileShelf& shelf) {
  files.push_back(std::make_unique<ProfileFile>(path.string()));
  ProfileFile& kept = *files.back();
  const std::string id = path.stem().string();
  const FileText file = read_file(path.string(), limits::kConfigBytes);
  if (!file.why.empty()) {
    kept.faults.add({}, "the file " + file.why);
  } else if (!valid_id(id)) {
    kept.faults.add({}, "\"" + printable(id, 60) +
                            "\" cannot be the id of a profile; expected 1 to 64 bytes without "
                            "blanks, '/', '+' and '#' before .yaml");
  } else {
    kept.root = read_tree(file.text, "a profile's keys, such as days and stages", kept.faults);
    if (!kept.root) return;
    shelf.add(id, Field{*kept.root, "", kept.faults});
    loaded.profile_files[id] = path.string();
  }
}

void load_directory(const fs::path& directory, Loaded& loaded, ProfileFiles& kept,
                    ProfileShelf& shelf) {
  std::error_code error;
  if (!fs::exists(directory, error)) return;
  Faults faults(directory.string());
  std::vector<fs::path> files;
  fs::directory_iterator entry(directory, error);
  for (; !error && entry != fs::directory_iterator(); entry.increment(error)) {
    const fs::path& path = entry->path();
    const std::string name = path.filename().string();
    if (name.starts_with('.')) continue;
    if (path.extension() == ".yaml") files.push_back(path);
    if (path.extension() == ".yml") {
      faults.warn({}, printable(name) + " is not read; expected profiles to end in .yaml");
    }
    if (files.size() > kProfileFiles) break;
  }
  if (error) faults.add({}, "the folder cannot be read: " + error.message());
  if (files.size() > kProfileFiles) {
    faults.add({}, "the folder has more than " + std::to_string(kProfileFiles) +
                       " profiles; expected at most so many");
    files.clear();
  }
  std::sort(files.begin(), files.end());
  collect(faults, loaded);
  for (const fs::path& file : files) load_profile(file, loaded, kept, shelf);
}

// The folders in order, none twice.
std::vector<fs::path> folders(const std::string& config_file,
                              const std::vector<std::string>& profile_directories) {
  std::vector<fs::path> all(profile_directories.begin(), profile_directories.end());
  all.push_back(fs::path(config_file).parent_path() / "profiles");
  std::vector<fs::path> kept;
  for (const fs::path& folder : all) {
    const bool there = std::any_of(kept.begin(), kept.end(), [&](const fs::path& other) {
      std::error_code error;
      return fs::equivalent(folder, other, error) && !error;
    });
    if (!there) kept.push_back(folder);
  }
  return kept;
}

// What the configuration says itself stands in no file of its own, whatever it replaces.
void forget_replaced(const YamlNode& root, Loaded& loaded) {
  for (const YamlMember& part : root.members)
    if (part.key == "profiles" && part.node.kind == YamlNode::Kind::map)
      for (const YamlMember& each : part.node.members) loaded.profile_files.erase(each.key);
}

const char* const kExpected = "at least site, broker and patterns";

}  // namespace

Loaded load_settings(const std::string& config_file,
                     const std::vector<std::string>& profile_directories) {
  Loaded loaded;
  Faults faults(config_file);
  const FileText file = read_file(config_file, limits::kConfigBytes);
  std::optional<YamlNode> root;
  ProfileFiles files;
  if (!file.why.empty()) {
    faults.add({}, "the file " + file.why);
  } else {
    root = read_tree(file.text, kExpected, faults);
  }
  if (root) {
    SettingsReader reader(*root, faults);
    ProfileShelf shelf;
    for (const fs::path& folder : folders(config_file, profile_directories)) {
      load_directory(folder, loaded, files, shelf);
    }
    loaded.settings = reader.read(std::move(shelf));
    forget_replaced(*root, loaded);
    for (const auto& kept : files) collect(kept->faults, loaded);
  }
  collect(faults, loaded);
  sort_by_file(loaded.problems);
  sort_by_file(loaded.warnings);
  return loaded;
}

Loaded load_settings_to_look(const std::string& config_file,
                             const std::vector<std::string>& profile_directories) {
  Loaded loaded = load_settings(config_file, profile_directories);
  std::erase_if(loaded.problems, [](const Problem& problem) { return problem.about_other_file; });
  return loaded;
}

Loaded parse_settings(std::string_view text, const std::string& file,
                      const std::map<std::string, Profile>& profiles) {
  Loaded loaded;
  Faults faults(file);
  if (const auto root = read_tree(text, kExpected, faults)) {
    loaded.settings = SettingsReader(*root, faults).read(ProfileShelf(profiles));
  }
  collect(faults, loaded);
  return loaded;
}

}  // namespace clutchward
