// What happened, newest first: rows of the history's file and those that wait for it. Runs on the
// history reader's thread; touches nothing of the loop's.
#pragma once

#include "store/history_file.h"
#include "web/event_ask.h"

namespace clutchward {

// `waiting`: events that may not be in the file yet, in the order in which they were handed over.
EventsFound look_back(const HistoryFile* file, const std::string& why,
                      const std::vector<HistoryEvent>& waiting, const EventsWanted& wanted);

}  // namespace clutchward
