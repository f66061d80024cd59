// The ways to reach people, and the steps in which they are told. Sends nothing.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "cabinet/settings.h"
#include "config/section.h"

namespace clutchward {

using Contacts = std::map<std::string, std::vector<ChannelSettings>>;
using Rotas = std::map<std::string, RotaSettings>;

std::vector<ChannelSettings> read_channels(const Field& field);

// The least priority that somebody hears of.
Priority read_least(const Field& field);

// Adds the contacts and rotas of a list to `notify`, each known and once.
void read_notify(const Field& field, const Contacts& contacts, const Rotas& rotas,
                 std::vector<std::string>& notify);

// Each step's `after` above the one before it; `notify` names contacts and rotas of `settings`. A
// contact whom no step reaches is a warning.
std::vector<EscalationStep> read_escalation(const Field& field, const Settings& settings);

}  // namespace clutchward
