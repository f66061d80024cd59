// Carries what the engine gathered into the history's rows: for the daemon and for the replay.
#pragma once

#include <string>
#include <vector>

#include "cabinet/settings.h"
#include "engine/engine.h"
#include "store/history_file.h"

namespace clutchward {

void add_minutes(std::vector<MinuteMean> minutes, HistoryRows& rows);
// Minutes of the engine as rows; `running_too` at the end.
void take_history(Engine& engine, bool running_too, HistoryRows& rows);
// Records of these batches, each with the schedule it ran by: what a report
// needs must still be there when the configuration has moved on.
void take_records(const Engine& engine, const Settings& settings,
                  const std::vector<std::string>& batches, HistoryRows& rows);
// Whether this history holds the record of that batch as it is now.
bool holds_record(const HistoryFile& file, const BatchRecord& record);
// One event with what the alarm is (kind, quantity, priority, latched), as it stands now.
void note_event(const Engine& engine, const AlarmEvent& event, HistoryRows& rows);

}  // namespace clutchward
