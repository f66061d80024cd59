// Shell completion made from the verbs themselves: what the command line takes is what is offered.
#pragma once

#include <CLI/CLI.hpp>
#include <string>

namespace clutchward {

enum class Shell : unsigned char { bash, zsh };

// A script that completes verbs, options, and names of cabinets, alarms, batches, species and
// contacts by asking the program itself ("completion names"). No name is ever run or expanded by
// the shell: cabinets are named by whoever publishes.
std::string completion_script(const CLI::App& app, Shell shell);

}  // namespace clutchward
