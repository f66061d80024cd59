// The figures for a metrics collector. What is not known has no sample.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "engine/view.h"
#include "web/watch_view.h"

namespace clutchward {

enum class MetricsForm : std::uint8_t {
  open_metrics,  // 1.0.0, ends with "# EOF"
  text           // the older text form, version 0.0.4
};

// What a collector with this Accept header gets: the older form only where it asks for text/plain
// and not for OpenMetrics as well.
MetricsForm metrics_form(std::string_view accept);
std::string_view media_type(MetricsForm form);

// The same a cabinet at a time.
class CabinetMetrics {
 public:
  explicit CabinetMetrics(MetricsForm form);
  ~CabinetMetrics();
  CabinetMetrics(const CabinetMetrics&) = delete;
  CabinetMetrics& operator=(const CabinetMetrics&) = delete;

  void add(const CabinetView& cabinet);
  // Makes text of what was added: some hundred cabinets are cheap to hold, thousands are not.
  void settle();
  std::string finish(const WatchView& watch) &&;

 private:
  struct Parts;
  std::unique_ptr<Parts> parts_;
};

// Base units in every name (Celsius, ratio 0 to 1, seconds). Labels are cabinet and batch-free:
// their number is bounded by the cabinets that the engine takes.
std::string metrics(const WatchView& watch, const std::vector<CabinetView>& cabinets,
                    MetricsForm form);

}  // namespace clutchward
