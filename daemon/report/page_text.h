// The template of the batch report. Everything a person wrote is escaped by it; the curves alone,
// which are numbers, go in as they are.
#pragma once

namespace clutchward {

extern const char* const kReportPage;

}  // namespace clutchward
