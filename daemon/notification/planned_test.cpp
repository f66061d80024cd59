// Says when the next one is to be missed.
#include "notification/planned_test.h"

#include <array>

#include "base/text.h"

namespace clutchward {
namespace {

constexpr std::array<const char*, 7> kDays = {"Sunday",   "Monday", "Tuesday", "Wednesday",
                                              "Thursday", "Friday", "Saturday"};

// "every Monday", "every Monday and Friday", "every day".
std::string days_text(const std::vector<std::chrono::weekday>& days) {
  if (days.size() == kDays.size()) return "every day";
  std::string text = "every ";
  for (std::size_t i = 0; i < days.size(); ++i) {
    if (i > 0) text += i + 1 == days.size() ? " and " : ", ";
    text += kDays.at(days[i].c_encoding());
  }
  return text;
}

std::string hour_text(Span at) {
  const std::chrono::hh_mm_ss<Span> time(at);
  const auto two = [](auto count) { return (count < 10 ? "0" : "") + std::to_string(count); };
  return two(time.hours().count()) + ":" + two(time.minutes().count());
}

}  // namespace

Notification write_planned_test(const TestSettings& test, const Manner& manner) {
  const std::string site = place({}, manner);
  const std::string when = days_text(test.on) + " at " + hour_text(test.at);
  Notification note;
  note.first_line = fitted(
      {{"TEST ", ", as " + when + ". Nothing is wrong"}, {"TEST ", ". Nothing is wrong"}}, site);
  note.message =
      "This is the test message from " + site + " that comes " + when +
      ".\nNothing is wrong. If you can read it, an alarm would reach you this way. If it "
      "fails to come one day, an alarm would not come either: go and look.\n";
  note.urgency = Urgency::low;
  note.thread = "test";
  return note;
}

}  // namespace clutchward
