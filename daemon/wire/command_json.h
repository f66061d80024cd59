// Commands and replies as JSON: the same object over MQTT, HTTP and the command line.
#pragma once

#include <string>
#include <string_view>

#include "base/result.h"
#include "engine/command.h"

namespace clutchward {

// Reads one command object. Refuses with a sentence that says which key, what was found and what
// was expected: broken JSON, unknown keys and deeds (nearest known word), wrong types, an id that
// cannot stand in a topic.
Result<Command> parse_command(std::string_view json);

// The id of an object that parse_command refused, where it has a usable one: so that it can be
// answered all the same.
std::string id_of_refused(std::string_view json);

std::string to_json(const Command& command);
std::string to_json(const Reply& reply);

}  // namespace clutchward
