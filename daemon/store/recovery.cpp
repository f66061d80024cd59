// Reading at start. A torn end of the last journal is what a power cut leaves and is no finding; a
// document that is missing or damaged before one that was promised as saved is. What is missing
// between two journals is one only where no whole document comes behind them: a start removes all
// the old journals at once, and a power cut may take any of them and leave the others.
#include "store/recovery.h"

#include <algorithm>

#include "base/limits.h"
#include "base/text.h"

namespace clutchward {
namespace {

class Recovery {
 public:
  Recovery(FileSystem& disk, const Places& places) : disk_(disk), places_(places) {}

  Recovered run() {
    for (const std::string& path : disk_.files_under(places_.kept())) {
      if (path.ends_with(".tmp")) state_.leftovers.push_back(path);
      if (path.ends_with(".yaml")) read_checkpoint_file(path);
    }
    std::vector<std::pair<std::uint64_t, std::string>> journals;
    for (const std::string& path : disk_.files_under(places_.journals()))
      if (const auto generation = journal_generation(path))
        journals.emplace_back(*generation, path);
    std::sort(journals.begin(), journals.end());
    for (const auto& [generation, path] : journals) {
      state_.journals.push_back(path);
      state_.next_generation = generation + 1;
      read_journal_file(path);
    }
    if (damage_ && damage_->missing) report_damage();
    return std::move(state_);
  }

 private:
  void set_aside(const std::string& path, const std::string& finding) {
    const auto known = std::find(state_.damaged.begin(), state_.damaged.end(), path);
    if (known == state_.damaged.end()) state_.damaged.push_back(path);
    state_.findings.push_back(finding);
  }

  void read_checkpoint_file(const std::string& path) {
    const Result<std::string> bytes = disk_.read(path, limits::kStateFileBytes);
    if (!bytes) return set_aside(path, bytes.why());
    Result<Checkpoint> checkpoint = read_checkpoint(*bytes);
    if (!checkpoint) return set_aside(path, path + ": " + checkpoint.why());
    for (const auto& [key, value] : checkpoint->entries) {
      if (places_.file_of(key) == path) continue;
      return set_aside(path, path + ": holds the key \"" + printable(key) + "\", whose file is " +
                                 places_.file_of(key));
    }
    for (auto& [key, value] : checkpoint->entries) state_.entries[key] = std::move(value);
    settled_[path] = checkpoint->sequence;
    advance(checkpoint->sequence, checkpoint->at);
  }

  void advance(std::uint64_t sequence, Wall at) {
    if (sequence < state_.sequence) return;
    state_.sequence = sequence;
    state_.at = std::max(state_.at, at);
  }

  void read_journal_file(const std::string& path) {
    const Result<std::string> read = disk_.read(path, limits::kJournalBytes);
    if (!read) {
      damage_ = Damage{path, read.why()};
      return report_damage();
    }
    const std::string_view bytes = *read;
    std::size_t at = bytes.starts_with('#') ? bytes.find("---\n") : 0;
    at = std::min(at, bytes.size());
    while (true) {
      const auto extent = next_complete_document(bytes, at);
      const std::size_t good_end = extent ? extent->begin : bytes.size();
      if (good_end != at && !damage_)
        damage_ = Damage{path, "no complete document at byte " + std::to_string(at)};
      if (!extent) return;
      take_document(path, bytes.substr(extent->begin, extent->end - extent->begin), extent->begin);
      at = extent->end;
    }
  }

  void take_document(const std::string& path, std::string_view bytes, std::size_t at) {
    Result<JournalDocument> document = read_journal_document(bytes);
    const std::string where = "the document at byte " + std::to_string(at);
    if (!document) {
      damage_ = Damage{path, where + ": " + document.why()};
      return report_damage();
    }
    // Promised as saved, and yet not among the documents taken: that is damage, not a torn end.
    if (damage_ && document->synced > last_) {
      damage_->missing = true;
      if (damage_->path == path && !damage_->between) report_damage();
    }
    if (document->whole) damage_.reset();
    if (damage_) return;
    if (!document->whole && last_ != 0 && document->previous != last_) {
      damage_ = Damage{path, where + ": a document is missing before it (follows turn " +
                                 std::to_string(document->previous) + ", found turn " +
                                 std::to_string(last_) + ")"};
      damage_->missing = true;
      damage_->between = path != last_path_;
      if (!damage_->between) report_damage();
      return;
    }
    last_path_ = path;
    apply(std::move(*document));
  }

  void apply(JournalDocument document) {
    last_ = document.sequence;
    advance(document.sequence, document.at);
    for (Change& change : document.changes) {
      const auto settled = settled_.find(places_.file_of(change.key));
      if (settled != settled_.end() && settled->second >= document.sequence) continue;
      std::optional<Lines>& lines = state_.unsettled[change.key];
      lines.reset();
      if (change.value) lines = lines_of(change.key, *change.value);
      if (change.value)
        state_.entries[change.key] = std::move(*change.value);
      else
        state_.entries.erase(change.key);
    }
  }

  void report_damage() {
    if (damage_->reported) return;
    damage_->reported = true;
    const std::string last = last_ == 0 ? "no turn" : "turn " + std::to_string(last_);
    set_aside(damage_->path, damage_->path + ": " + damage_->what +
                                 "; kept what comes before it (up to " + last +
                                 "), nothing behind it");
  }

  struct Damage {
    std::string path;
    std::string what;
    bool missing = false;  // what was promised as saved, at this place
    bool between = false;  // the place lies between two journals, in neither
    bool reported = false;
  };

  FileSystem& disk_;
  const Places& places_;
  Recovered state_;
  std::map<std::string, std::uint64_t> settled_;
  std::optional<Damage> damage_;
  std::uint64_t last_ = 0;
  std::string last_path_;  // the journal that holds it
};

}  // namespace

Recovered recover(FileSystem& disk, const Places& places) { return Recovery(disk, places).run(); }

}  // namespace clutchward
