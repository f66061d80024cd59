// Batch reports as values: what is asked of whoever keeps the history, and what comes back, made
// and ready to be sent.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <vector>

namespace clutchward {

enum class ReportForm : unsigned char { page, json, table, figures };

struct ReportWanted {
  ReportForm form = ReportForm::page;
  std::vector<std::string> batches;  // one, but for figures
  std::string table;                 // its name, for ReportForm::table
  bool operator==(const ReportWanted&) const = default;
};

struct ReportMade {
  std::string trouble;   // why there is none
  bool unknown = false;  // there is no such batch, or table of it
  std::string body;      // for ReportForm::figures: a JSON list, a batch each
};
using Report = std::shared_ptr<const ReportMade>;

// Answers within the call or later, once, on the thread that calls WebServer::turn; null: too many
// are asked for. Never waits for a disk itself.
using AskReport = std::function<void(ReportWanted, std::function<void(Report)>)>;

}  // namespace clutchward
