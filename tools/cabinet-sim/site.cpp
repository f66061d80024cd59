#include "site.h"

#include <algorithm>

#include "base/text.h"

namespace clutchward::sim {

Site::Site(const std::vector<std::string>& names, const CabinetSettings& settings,
           const std::vector<Fault>& faults) {
  cabinets_.reserve(names.size());
  for (const std::string& name : names) {
    due_.push({cabinets_.emplace_back(name, settings, faults).next(), cabinets_.size() - 1});
  }
}

void Site::step(std::vector<Message>& out) {
  const Due due = due_.top();
  due_.pop();
  Cabinet& cabinet = cabinets_[due.cabinet];
  if (cabinet.next() != due.at) return;
  cabinet.step(out);
  due_.push({cabinet.next(), due.cabinet});
}

Result<std::string> Site::order(std::string_view text, Span now) {
  const auto colon = text.rfind(':');
  const bool mend = colon != std::string_view::npos && text.substr(colon) == ":mend";
  auto fault = mend ? Result<Fault>(Fault{.cabinet = std::string(text.substr(0, colon))})
                    : parse_fault(text, now);
  if (!fault) return Refusal{fault.why()};
  const auto cabinet = std::ranges::find(cabinets_, fault->cabinet, &Cabinet::id);
  if (cabinet == cabinets_.end())
    return Refusal{"there is no cabinet \"" + printable(fault->cabinet) + "\""};
  if (mend)
    cabinet->mend(now);
  else
    cabinet->add(*fault);
  due_.push({cabinet->next(), static_cast<std::size_t>(cabinet - cabinets_.begin())});
  return fault->cabinet + (mend ? ": faults mended" : ": fault ordered");
}

}  // namespace clutchward::sim
