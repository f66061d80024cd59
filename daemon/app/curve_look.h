// A curve out of the history: rows of the file and those that wait for it become steps. Runs on the
// history reader's thread; touches nothing of the loop's.
#pragma once

#include "store/history_file.h"
#include "web/curve.h"

namespace clutchward {

// `file` null: `why` is told, and what waits is all there is.
CurveFound look_at_curve(const HistoryFile* file, const std::string& why,
                         const HistoryRows& waiting, const CurveWanted& wanted);

// The latest events of the file from `from` on, at most `most`, in order.
std::vector<AlarmEvent> look_at_events(const HistoryFile* file, Wall from, std::size_t most);

}  // namespace clutchward
