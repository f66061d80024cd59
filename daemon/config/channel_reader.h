// People and the ways to reach them: contacts and escalation. Sends nothing.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "cabinet/settings.h"
#include "config/section.h"

namespace clutchward {

using Contacts = std::map<std::string, std::vector<ChannelSettings>>;

Contacts read_contacts(const Field& field);

// Adds the contacts of a list to `step`, each known and once.
void read_notify(const Field& field, const Contacts& contacts, EscalationStep& step);

// Each step's `after` above the one before it; `notify` names `contacts`. A contact in no step is a
// warning.
std::vector<EscalationStep> read_escalation(const Field& field, const Contacts& contacts,
                                            std::optional<Span> everyone_after);

}  // namespace clutchward
