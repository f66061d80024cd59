// A report out of the history, made and ready to be sent. Runs on the history reader's thread;
// touches nothing of the loop's.
#pragma once

#include "base/zone.h"
#include "store/history_file.h"
#include "web/report_ask.h"

namespace clutchward {

// `file` null: `why` is told where what waits is not enough. Times of the page in `zone`.
ReportMade look_at_report(const HistoryFile* file, const std::string& why,
                          const HistoryRows& waiting, const ReportWanted& wanted, const Zone& zone);

}  // namespace clutchward
