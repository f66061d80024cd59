// What keeps the keeper sure that the watch lives: the daily line, the beat to outside watchers,
// the test message, when a channel counts as failing. Sends nothing.
#pragma once

#include <optional>
#include <vector>

#include "config/channel_reader.h"

namespace clutchward {

std::optional<DailySettings> read_daily(const Field& field, const Settings& settings);
std::vector<BeatSettings> read_beats(const Field& field);
WatchSettings read_watch(const Field& field, const Contacts& contacts);

}  // namespace clutchward
