// From what was asked to a body.
#include "app/report_look.h"

#include <algorithm>

#include "app/report_source.h"
#include "base/text.h"

namespace clutchward {
namespace {

bool is_known(const HistoryFile* file, const HistoryRows& waiting, const std::string& batch) {
  std::optional<HistoryRecord> kept;
  if (file != nullptr && (file->record(batch, kept) || kept)) return true;
  return std::any_of(waiting.records.begin(), waiting.records.end(),
                     [&](const HistoryRecord& each) { return each.batch == batch; });
}

void make_table(const Json& report, const std::string& table, ReportMade& made) {
  std::string names;
  for (auto& [name, text] : report_csv(report)) {
    const std::string stem = name.substr(0, name.rfind('.'));
    if (stem == table) {
      made.body = std::move(text);
      return;
    }
    names += (names.empty() ? "" : ", ") + stem;
  }
  made.unknown = true;
  made.trouble =
      "this report has no table \"" + printable(table, 60) + "\", or it is empty; it has " + names;
}

}  // namespace

ReportMade look_at_report(const HistoryFile* file, const std::string& why,
                          const HistoryRows& waiting, const ReportWanted& wanted,
                          const Zone& zone) {
  ReportMade made;
  Json figures = Json::array();
  for (const std::string& batch : wanted.batches) {
    const auto source = read_report_source(file, waiting, batch);
    if (!source) {
      made.unknown = why.empty() && !is_known(file, waiting, batch);
      made.trouble = why.empty() ? source.why() : why;
      return made;
    }
    Json report = report_json(*source);
    if (wanted.form == ReportForm::figures) figures.push_back(report_figures(report));
    if (wanted.form == ReportForm::json) made.body = report_text(report);
    if (wanted.form == ReportForm::table) make_table(report, wanted.table, made);
    if (wanted.form == ReportForm::page) {
      report["timezone"] = zone.name();
      made.body = report_html(report, zone);
    }
  }
  if (wanted.form == ReportForm::figures) made.body = report_text(figures);
  return made;
}

}  // namespace clutchward
