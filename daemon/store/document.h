// The two kinds of document in the state folder and their bytes. A journal document is one turn's
// changes; a checkpoint is what one key (or one group of small keys) held at one turn. Both carry a
// format version and a checksum over the bytes behind it. Pure text in, values out; no files.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "base/time.h"
#include "base/tree.h"

namespace clutchward {

// The version that this program writes, and the only one that it reads.
inline constexpr std::string_view kStateFormat = "1";

// One turn of the engine: everything that it changed, kept wholly or not at all.
struct Turn {
  std::uint64_t sequence = 0;
  Wall at{};
  std::vector<Change> changes;
};

using Entries = std::map<std::string, Tree, std::less<>>;

// A value as it stands in every file, its key with it: what waits in memory for a checkpoint waits
// like this, since the Tree takes five to ten times as much.
using Lines = std::string;
Lines lines_of(std::string_view key, const Tree& value);
using LinesByKey = std::map<std::string, Lines, std::less<>>;
// Changes by key, the latest only; no lines: removed.
using ChangeMap = std::map<std::string, std::optional<Lines>, std::less<>>;
// The changes of one turn, in their order.
using WrittenChanges = std::vector<std::pair<std::string, std::optional<Lines>>>;

struct JournalDocument {
  std::uint64_t sequence = 0;
  // The sequence of the document before it, and of the last one known to be on the medium when this
  // one was written: they tell a gap, and a torn end from damage.
  std::uint64_t previous = 0;
  std::uint64_t synced = 0;
  Wall at{};
  // Holds every change that no checkpoint holds yet, so that nothing before it is needed.
  bool whole = false;
  std::vector<Change> changes;
};

struct Checkpoint {
  std::uint64_t sequence = 0;
  Wall at{};
  Entries entries;
};

// The comment at the head of every journal file.
std::string journal_head();

// Appends one turn's document.
void write_journal_document(const JournalDocument& head, const std::vector<Change>& changes,
                            std::string& out);
void write_journal_document(const JournalDocument& head, const WrittenChanges& changes,
                            std::string& out);
void write_whole_document(const JournalDocument& head, const ChangeMap& changes, std::string& out);

// The document's place in a journal's bytes: from its "---" line to behind its "..." line.
struct Extent {
  std::size_t begin = 0;
  std::size_t end = 0;
};

// The next document at or behind `from` that is complete and whose checksum matches, or none.
std::optional<Extent> next_complete_document(std::string_view journal, std::size_t from);

// The document in these bytes, which next_complete_document() found.
Result<JournalDocument> read_journal_document(std::string_view bytes);

// A checkpoint's whole file, of these entries in order.
std::string write_checkpoint(std::uint64_t sequence, Wall at,
                             const std::vector<std::string_view>& entries);

// Reads a checkpoint's file. One without a checksum line has been edited and is taken as it is; one
// whose checksum does not match is refused.
Result<Checkpoint> read_checkpoint(std::string_view bytes);

}  // namespace clutchward
