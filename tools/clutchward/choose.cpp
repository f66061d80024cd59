// Unique beginnings.
#include "choose.h"

#include <algorithm>
#include <set>

namespace clutchward {

Result<std::string> choose(const std::string& text, const std::vector<std::string>& names,
                           const std::string& what) {
  std::set<std::string> fitting;
  for (const std::string& name : names) {
    if (name == text) return text;
    if (!text.empty() && name.starts_with(text)) fitting.insert(name);
  }
  if (fitting.empty()) return text;
  if (fitting.size() == 1) return *fitting.begin();
  std::string list;
  for (const std::string& name : fitting) list += (list.empty() ? "" : ", ") + name;
  return Refusal{what + " \"" + text + "\" could be any of " + list};
}

Result<std::string> choose_cabinet(const std::string& text,
                                   const std::vector<CabinetView>& cabinets) {
  std::vector<std::string> names;
  for (const CabinetView& cabinet : cabinets) names.push_back(cabinet.id);
  return choose(text, names, "cabinet");
}

Result<std::string> choose_alarm(const std::string& text, const CabinetView& cabinet,
                                 const std::string& batch) {
  std::vector<std::string> names;
  for (const AlarmView& alarm : cabinet.alarms)
    if (batch.empty() || alarm.key.batch == batch) names.push_back(alarm.key.alarm);
  return choose(text, names, "alarm");
}

Result<std::string> choose_batch(const std::string& text,
                                 const std::vector<CabinetView>& cabinets) {
  std::vector<std::string> names;
  for (const CabinetView& cabinet : cabinets)
    for (const BatchView& batch : cabinet.batches) names.push_back(batch.id);
  return choose(text, names, "batch");
}

}  // namespace clutchward
