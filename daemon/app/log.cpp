// Synchronous lines to standard error; "<6>" and the like in front when the journal reads them.
#include "app/log.h"

#include <spdlog/pattern_formatter.h>
#include <spdlog/sinks/stdout_sinks.h>

#include <cstdlib>

namespace clutchward {
namespace {

class JournalMark : public spdlog::custom_flag_formatter {
 public:
  void format(const spdlog::details::log_msg& line, const std::tm&,
              spdlog::memory_buf_t& into) override {
    const char* mark = "<6>";  // the levels of sd-daemon(3)
    if (line.level >= spdlog::level::critical)
      mark = "<2>";
    else if (line.level == spdlog::level::err)
      mark = "<3>";
    else if (line.level == spdlog::level::warn)
      mark = "<4>";
    else if (line.level <= spdlog::level::debug)
      mark = "<7>";
    into.append(mark, mark + 3);
  }
  std::unique_ptr<spdlog::custom_flag_formatter> clone() const override {
    return std::make_unique<JournalMark>();
  }
};

}  // namespace

void start_log() {
  auto logger = std::make_shared<spdlog::logger>("clutchward",
                                                 std::make_shared<spdlog::sinks::stderr_sink_mt>());
  auto formatter = std::make_unique<spdlog::pattern_formatter>();
  if (std::getenv("JOURNAL_STREAM") != nullptr)
    formatter->add_flag<JournalMark>('*').set_pattern("%*%v");
  else
    formatter->set_pattern("%Y-%m-%d %H:%M:%S.%e %l: %v");
  logger->set_formatter(std::move(formatter));
  logger->flush_on(spdlog::level::info);
  spdlog::set_default_logger(std::move(logger));
}

}  // namespace clutchward
