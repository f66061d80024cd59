// How well it rings, as one JSON document made from a history or a play, and that document as text
// for a terminal: both say the same.
#pragma once

#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "app/quality_play.h"
#include "base/result.h"
#include "store/history_file.h"

namespace clutchward {

// What is to be shown, wherever it came from.
struct QualityShown {
  std::string source;  // "history", "recording"
  std::string file;
  std::vector<std::string> names;  // of the sides
  QualityPlayed played;
  std::optional<Span> answer_after;
  std::uint64_t unreadable = 0;  // rows of the history that hold no event
  // A history's: since when it is kept who was told; none: it is not.
  std::optional<Wall> told_from;
};

// The events of a history, as one side without a name. Bounds as in the question; without them from
// the first minute or event to the last.
// Who was told is counted from then on, since when it is kept.
Result<QualityShown> read_quality(const HistoryFile& file, const HistoryQuestion& question);

// Messages to people out of a history (quality_told.cpp). Why it cannot be read, or "".
class PeopleTally;
std::string read_told(const HistoryFile& file, const HistoryQuestion& question, PeopleTally& into,
                      std::uint64_t& unreadable);

nlohmann::ordered_json quality_json(const QualityShown& shown);
std::string quality_text(const nlohmann::ordered_json& document);

}  // namespace clutchward
