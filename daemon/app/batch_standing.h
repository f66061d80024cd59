// One batch for the web server: its record and schedule put together.
#pragma once

#include <optional>
#include <string>

#include "engine/engine.h"
#include "web/batch_standing.h"

namespace clutchward {

std::optional<BatchStanding> batch_standing(const Engine& engine, const std::string& id);

}  // namespace clutchward
