// A batch's record and dates as JSON: over HTTP, in the history, for the report, on the command
// line.
#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <string_view>

#include "base/result.h"
#include "cabinet/batch_dates.h"
#include "cabinet/batch_record.h"

namespace clutchward {

// Every key of the record; what is not known is null, lists are there though empty. Times in RFC
// 3339 UTC, temperatures in Celsius, dates of turning as "2026-03-01" (the site's local days).
nlohmann::ordered_json record_json(const BatchRecord& record);
std::string to_json(const BatchRecord& record);

// Reads it back. Keys that are not there count as not known and unknown ones are passed over, so
// that an older record and a newer one are read; a key of another type is refused, named.
Result<BatchRecord> parse_record(std::string_view json);
Result<BatchRecord> read_record(const nlohmann::ordered_json& object);

nlohmann::ordered_json date_json(const BatchDate& date);
nlohmann::ordered_json fates_json(const Fates& fates);
// {"infertile": 3}: numbers of eggs from 0 on by fate; those of 0 are left out. A sentence where it
// is not that: what was expected.
Result<Fates> read_fates(const nlohmann::ordered_json& object);

}  // namespace clutchward
