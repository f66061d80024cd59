// A batch out of the history, for its report: its record, where it stood, its curves and its
// events. Runs on the history reader's thread or in the keeper's command; touches nothing of the
// loop's.
#pragma once

#include <string>

#include "base/result.h"
#include "report/report.h"
#include "store/history_file.h"

namespace clutchward {

// `waiting`: what is not in the file yet (minutes and events, each in order, and records as they
// are now); `file` may be null where there is none yet. Refused: no such batch (near ids are
// named), a record or rows that cannot be read.
Result<ReportSource> read_report_source(const HistoryFile* file, const HistoryRows& waiting,
                                        const std::string& batch);

}  // namespace clutchward
