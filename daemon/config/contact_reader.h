// People: their channels, hours, absences and rotas, and what a stand-in has to know of a cabinet.
#pragma once

#include <map>
#include <string>

#include "cabinet/settings.h"
#include "config/section.h"

namespace clutchward {

// contacts and contact_times of `settings`. A contact is a list of channels, or a map with more.
void read_contacts(const Field& field, Settings& settings);

// Names contacts of `settings`.
std::map<std::string, RotaSettings> read_rotas(const Field& field, const Settings& settings);

// `where` and `first_aid` of `cabinets`, whose other keys are read elsewhere.
std::map<std::string, GuideSettings> read_guides(const Field& cabinets);

}  // namespace clutchward
