// Writing and reading of journal documents and checkpoints.
#include "store/document.h"

#include <charconv>

#include "base/text.h"
#include "store/checksum.h"
#include "store/yaml_read.h"
#include "store/yaml_write.h"

namespace clutchward {
namespace {

constexpr std::string_view kBegin = "---\n";
constexpr std::string_view kEnd = "\n...\n";
constexpr std::string_view kChecksum = "checksum: \"";
// checksum: "01234567"\n
constexpr std::size_t kChecksumLine = kChecksum.size() + 8 + 2;

constexpr std::string_view kCheckpointHead =
    "# What the daemon keeps under the key below, made from its journal. To edit it, stop the "
    "daemon,\n"
    "# change the file and delete its line \"checksum: ...\": with that line in place a changed "
    "file\n"
    "# counts as damaged and is set aside.\n";

void write_text(std::string_view key, std::string_view value, std::string& out) {
  out += key;
  out += ": ";
  write_quoted(value, out);
  out += '\n';
}

// Leaves room for the checksum line and answers where it goes.
std::size_t reserve_checksum(std::string& out) {
  const std::size_t at = out.size();
  out += kChecksum;
  out += "00000000\"\n";
  return at;
}

void fill_checksum(std::size_t at, std::string& out) {
  const std::string_view covered = std::string_view(out).substr(at + kChecksumLine);
  out.replace(at + kChecksum.size(), 8, checksum_text(crc32c(covered)));
}

constexpr int kIndent = 2;  // of every entry, in journals and checkpoints alike

void write_entry(const std::string& key, const Tree& value, std::string& out) {
  write_member(key, value, kIndent, out);
}
void write_entry(const std::string&, const Lines& lines, std::string& out) { out += lines; }

template <class Changes>
void write_document(const JournalDocument& head, const Changes& changes, std::string& out) {
  out += kBegin;
  const std::size_t checksum = reserve_checksum(out);
  write_text("format", kStateFormat, out);
  write_text("sequence", std::to_string(head.sequence), out);
  write_text("previous", std::to_string(head.previous), out);
  write_text("synced", std::to_string(head.synced), out);
  write_text("at", to_rfc3339(head.at), out);
  if (head.whole) write_text("whole", "yes", out);
  bool any_removed = false;
  bool any_set = false;
  for (const auto& [key, value] : changes) {
    any_removed = any_removed || !value;
    if (!value) continue;
    if (!any_set) out += "set:\n";
    any_set = true;
    write_entry(key, *value, out);
  }
  if (any_removed) out += "removed:\n";
  for (const auto& [key, value] : changes) {
    if (value) continue;
    out += "  - ";
    write_quoted(key, out);
    out += '\n';
  }
  fill_checksum(checksum, out);
  out += kEnd.substr(1);
}

std::optional<std::uint64_t> number(const Tree& tree, std::string_view key) {
  const std::string_view text = tree.get(key);
  std::uint64_t value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || end != text.data() + text.size() || text.empty()) return std::nullopt;
  return value;
}

std::string found(const Tree& tree, std::string_view key) {
  const Tree* member = tree.find(key);
  if (member == nullptr) return "nothing";
  if (member->kind != Tree::Kind::scalar)
    return member->kind == Tree::Kind::list ? "a list" : "a map";
  return "\"" + printable(member->text) + "\"";
}

// The format version first: of any other nothing more can be said.
std::optional<std::string> wrong_format(const Tree& tree) {
  if (tree.get("format") == kStateFormat) return std::nullopt;
  return "format: found " + found(tree, "format") + ", expected \"" + std::string(kStateFormat) +
         "\" (written by another version of the daemon?)";
}

std::optional<std::string> unknown_member(const Tree& tree, const std::vector<std::string>& known) {
  for (const auto& [key, value] : tree.members) {
    bool is_known = false;
    for (const std::string& word : known) is_known = is_known || word == key;
    if (is_known) continue;
    const std::string nearest = nearest_word(key, known);
    return "unknown key \"" + printable(key) + "\"" +
           (nearest.empty() ? "" : ", did you mean \"" + nearest + "\"?");
  }
  return std::nullopt;
}

std::string not_a_number(const Tree& tree, std::string_view key) {
  return std::string(key) + ": found " + found(tree, key) + ", expected a whole number";
}

std::string not_a_time(const Tree& tree) {
  return "at: found " + found(tree, "at") +
         ", expected a time such as \"2026-03-01T09:00:00.000Z\"";
}

std::string not_a(std::string_view kind, const Tree& tree, std::string_view key) {
  return std::string(key) + ": found " + found(tree, key) + ", expected " + std::string(kind);
}

}  // namespace

Lines lines_of(std::string_view key, const Tree& value) {
  Lines lines;
  write_member(key, value, kIndent, lines);
  lines.shrink_to_fit();
  return lines;
}

std::string journal_head() {
  return "# The daemon's journal: one document a turn. Not for editing: once the daemon has been "
         "stopped,\n"
         "# all of it stands in the files of the folder \"kept\".\n";
}

void write_journal_document(const JournalDocument& head, const std::vector<Change>& changes,
                            std::string& out) {
  write_document(head, changes, out);
}

void write_journal_document(const JournalDocument& head, const WrittenChanges& changes,
                            std::string& out) {
  write_document(head, changes, out);
}

void write_whole_document(const JournalDocument& head, const ChangeMap& changes, std::string& out) {
  write_document(head, changes, out);
}

std::optional<Extent> next_complete_document(std::string_view journal, std::size_t from) {
  while (true) {
    std::size_t begin = journal.find(kBegin, from);
    while (begin != std::string_view::npos && begin > 0 && journal[begin - 1] != '\n')
      begin = journal.find(kBegin, begin + 1);
    if (begin == std::string_view::npos) return std::nullopt;
    from = begin + kBegin.size();
    const std::string_view body = journal.substr(from);
    const std::size_t end = body.find(kEnd);
    if (end == std::string_view::npos) return std::nullopt;
    if (end + 1 < kChecksumLine || body.substr(0, kChecksum.size()) != kChecksum) continue;
    const std::string_view covered = body.substr(kChecksumLine, end + 1 - kChecksumLine);
    if (body.substr(kChecksum.size(), 10) != checksum_text(crc32c(covered)) + "\"\n") continue;
    return Extent{begin, from + end + kEnd.size()};
  }
}

Result<JournalDocument> read_journal_document(std::string_view bytes) {
  const std::string_view body =
      bytes.substr(kBegin.size(), bytes.size() - kBegin.size() - kEnd.size() + 1);
  Result<Tree> tree = read_yaml(body);
  if (!tree) return Refusal{tree.why()};
  if (auto why = wrong_format(*tree)) return Refusal{*why};
  static const std::vector<std::string> kKnown = {
      "checksum", "format", "sequence", "previous", "synced", "at", "whole", "set", "removed"};
  if (auto why = unknown_member(*tree, kKnown)) return Refusal{*why};
  JournalDocument document;
  for (const auto& [key, target] :
       {std::pair("sequence", &document.sequence), std::pair("previous", &document.previous),
        std::pair("synced", &document.synced)}) {
    const auto value = number(*tree, key);
    if (!value) return Refusal{not_a_number(*tree, key)};
    *target = *value;
  }
  const auto at = parse_rfc3339(tree->get("at"));
  if (!at) return Refusal{not_a_time(*tree)};
  document.at = *at;
  document.whole = tree->get("whole") == "yes";
  for (auto& [name, value] : tree->members) {
    if (name == "set")
      for (auto& [key, entry] : value.members) document.changes.push_back({key, std::move(entry)});
    if (name == "removed")
      for (auto& [empty, key] : value.members) document.changes.push_back({key.text, std::nullopt});
  }
  return document;
}

std::string write_checkpoint(std::uint64_t sequence, Wall at,
                             const std::vector<std::string_view>& entries) {
  std::string out(kCheckpointHead);
  const std::size_t checksum = reserve_checksum(out);
  write_text("format", kStateFormat, out);
  write_text("sequence", std::to_string(sequence), out);
  write_text("at", to_rfc3339(at), out);
  out += entries.empty() ? "set: {}\n" : "set:\n";
  for (const std::string_view lines : entries) out += lines;
  fill_checksum(checksum, out);
  return out;
}

Result<Checkpoint> read_checkpoint(std::string_view bytes) {
  // The checksum stands above what it covers, so that a file cut short never looks like one whose
  // checksum line somebody deleted.
  std::size_t line = bytes.starts_with("checksum:") ? 0 : bytes.find("\nchecksum:");
  if (line != std::string_view::npos) {
    if (line > 0) ++line;
    const std::size_t end = bytes.find('\n', line);
    const std::string_view covered =
        end == std::string_view::npos ? std::string_view() : bytes.substr(end + 1);
    const std::string expected = checksum_text(crc32c(covered));
    if (bytes.substr(line, end - line) != std::string(kChecksum) + expected + "\"")
      return Refusal{
          "the checksum does not match: damaged, or edited without deleting the line "
          "\"checksum: ...\""};
  }
  Result<Tree> tree = read_yaml(bytes);
  if (!tree) return Refusal{tree.why()};
  if (auto why = wrong_format(*tree)) return Refusal{*why};
  static const std::vector<std::string> kKnown = {"checksum", "format", "sequence", "at", "set"};
  if (auto why = unknown_member(*tree, kKnown)) return Refusal{*why};
  Checkpoint checkpoint;
  const auto sequence = number(*tree, "sequence");
  if (!sequence) return Refusal{not_a_number(*tree, "sequence")};
  const auto at = parse_rfc3339(tree->get("at"));
  if (!at) return Refusal{not_a_time(*tree)};
  checkpoint.sequence = *sequence;
  checkpoint.at = *at;
  for (auto& [name, value] : tree->members) {
    if (name != "set") continue;
    if (value.kind != Tree::Kind::map) return Refusal{not_a("a map of keys", *tree, "set")};
    for (auto& [key, entry] : value.members) checkpoint.entries[key] = std::move(entry);
    return checkpoint;
  }
  return Refusal{not_a("a map of keys", *tree, "set")};
}

}  // namespace clutchward
