// Writes messages as a recording: JSON Lines, one MQTT message a line, as `clutchward replay`
// reads them.
#pragma once

#include <cstdio>
#include <string>

#include "cabinet.h"

namespace clutchward::sim {

std::string recording_line(Wall at, const Message& message);

}  // namespace clutchward::sim
