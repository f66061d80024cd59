// Reads where the page is and who may do what there: page and people. Checks files' presence and
// hashes' form; lets nobody in.
#pragma once

#include <map>
#include <string>

#include "cabinet/settings.h"
#include "config/section.h"

namespace clutchward {

PageSettings read_page(const Field& field);

// Each person with a passphrase or a PIN; a passphrase as itself in place of its hash is a fault
// that does not show it.
std::map<std::string, PersonSettings> read_page_people(const Field& field);

}  // namespace clutchward
