// Names by their unique beginnings.
#pragma once

#include <string>
#include <vector>

#include "base/result.h"
#include "engine/view.h"

namespace clutchward {

// `text` itself where it is one of `names` or where nothing begins with it (the daemon then says
// what is near); the one name that begins with it; or a refusal that lists several.
Result<std::string> choose(const std::string& text, const std::vector<std::string>& names,
                           const std::string& what);

Result<std::string> choose_cabinet(const std::string& text,
                                   const std::vector<CabinetView>& cabinets);
// Among the alarms of `batch` ("" : of all) in the cabinet.
Result<std::string> choose_alarm(const std::string& text, const CabinetView& cabinet,
                                 const std::string& batch);
Result<std::string> choose_batch(const std::string& text, const std::vector<CabinetView>& cabinets);

}  // namespace clutchward
