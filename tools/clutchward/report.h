// The batch report: read from a history file alone, made into one JSON document, and from that
// document into a page, CSV files or a comparison, so that all of them say the same.
#pragma once

#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <vector>

#include "base/result.h"
#include "base/zone.h"
#include "cabinet/batch_record.h"
#include "incubation/excursions.h"
#include "store/history_file.h"

namespace clutchward {

using Json = nlohmann::ordered_json;

// Where the batch stood, and from when till when.
struct Stay {
  std::string cabinet;
  Wall from{};
  Wall to{};
};

// One minute of a cabinet over its air probes, or one hour of those.
struct CurvePoint {
  Span at{0};
  double low = 0;
  double mean = 0;
  double high = 0;
};

struct StageSpan {
  std::string name;
  Span from{0};
  Span to{0};
  double target = 0;
  std::optional<double> humid_from;
  std::optional<double> humid_to;
};

// What the history holds of one batch.
struct ReportSource {
  BatchRecord record;
  Json schedule;
  std::vector<Stay> stays;
  std::vector<StageSpan> stages;
  std::vector<CurvePoint> temperature;  // minutes
  std::vector<CurvePoint> humidity;
  std::vector<Json> events;
  Wall until{};  // the end of the batch, or the last that is known
  // How long an egg lags behind the air, in minutes; none: by its mass where it was weighed, else
  // the hen's egg as published (incubation/egg_heat.h).
  std::optional<double> egg_lag_min;
};

// Refused: no such batch (near ids are named), a record that cannot be read.
Result<ReportSource> read_report_source(const HistoryFile& file, const std::string& batch);

// The whole document. It refuses nothing: what cannot be told is null, or says why.
Json report_json(const ReportSource& source);
// Its parts about the eggs (report_eggs.cpp) and about heat (report_heat.cpp), and what of it a
// person looks for first (report_glance.cpp).
void add_eggs(const ReportSource& source, Json& out);
void add_heat(const ReportSource& source, Json& out);
void add_glance(Json& out);

double rounded(double value, double places = 1000);
std::string time_text(Span at);  // RFC 3339

// One page without outside resources; times in `zone`.
std::string report_html(const Json& report, const Zone& zone);
// The curve over the days as SVG: `quantity` is "temperature" or "humidity".
std::string report_curve(const Json& report, const std::string& quantity);
// File name and content, RFC 4180.
std::vector<std::pair<std::string, std::string>> report_csv(const Json& report);
// One line a batch of the figures that compare, and the same as a table.
Json comparison_json(const std::vector<Json>& reports);
std::string comparison_text(const Json& comparison);

}  // namespace clutchward
