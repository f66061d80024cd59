// The batch report: what the history holds of a batch, made into one JSON document, and from that
// document into a page, tables of CSV or a comparison, so that all of them say the same, whoever
// asks. Reads nothing itself: app/report_source.h does.
#pragma once

#include <nlohmann/json.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "base/zone.h"
#include "cabinet/batch_record.h"
#include "incubation/excursions.h"

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

// The whole document. It refuses nothing: what cannot be told is null, or says why.
Json report_json(const ReportSource& source);
// As it is printed for programs.
std::string report_text(const Json& report);
// Its parts about the eggs (eggs.cpp) and about heat (heat.cpp), and what of it a person looks for
// first (glance.cpp).
void add_eggs(const ReportSource& source, Json& out);
void add_heat(const ReportSource& source, Json& out);
void add_glance(Json& out);

// The same document in the site's units, for what people read: the temperatures in °F where the
// site shows them so. The document itself stays in °C.
Json as_shown(const Json& report);
bool in_fahrenheit(const Json& report);
// Whether that key of that part (or of the figures: "") is a temperature, or a difference of two.
enum class Degrees : std::uint8_t { none, absolute, difference };
Degrees degrees_of(std::string_view part, std::string_view key);
double in_shown(double celsius, Degrees degrees);  // °F

std::string number_text(double value);  // two decimals at most
double rounded(double value, double places = 1000);
std::string time_text(Span at);  // RFC 3339

// One page without outside resources; times in `zone`.
std::string report_html(const Json& report, const Zone& zone);
// The curve over the days as SVG: `quantity` is "temperature" or "humidity".
std::string report_curve(const Json& report, const std::string& quantity);
// File name and content, RFC 4180.
std::vector<std::pair<std::string, std::string>> report_csv(const Json& report);
// The figures of one batch that compare with those of another; a comparison is a list of them.
Json report_figures(const Json& report);
Json figures_shown(const Json& report);  // in the site's units

}  // namespace clutchward
