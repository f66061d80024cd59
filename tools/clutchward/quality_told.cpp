// From the rows of who was told to a tally of people: the rows of one message, one a channel, are
// brought together. What no channel is known to have delivered was not told.
#include <algorithm>
#include <map>

#include "quality.h"
#include "quality/people.h"

namespace clutchward {
namespace {

using Json = nlohmann::ordered_json;

// A message, and whether it reached its reader.
struct Message {
  Notification note;
  std::string sort;
  bool delivered = false;
  bool readable = true;
};

template <class Names>
std::optional<std::size_t> index_of(const Names& names, const std::string& word) {
  const auto found = std::find(names.begin(), names.end(), word);
  if (found == names.end()) return std::nullopt;
  return static_cast<std::size_t>(found - names.begin());
}

// The alarms as app/told_book.cpp writes them; false where they are something else.
bool read_alarms(const std::string& text, std::vector<AlarmEvent>& into) {
  if (text.empty() || !into.empty()) return true;
  const Json all = Json::parse(text, nullptr, false);
  if (!all.is_array()) return false;
  for (const Json& one : all) {
    if (!one.is_array() || one.size() != 5 || !one[4].is_number_integer()) return false;
    for (std::size_t i = 0; i < 4; ++i)
      if (!one[i].is_string()) return false;
    const auto kind = index_of(kEventNames, one[3].get<std::string>());
    if (!kind) return false;
    AlarmEvent event;
    event.key = {one[0], one[1], one[2]};
    event.kind = static_cast<EventKind>(*kind);
    event.at = Wall(Span(one[4].get<std::int64_t>()));
    into.push_back(std::move(event));
  }
  return true;
}

class Gathering {
 public:
  explicit Gathering(PeopleTally& into) : into_(into) {}

  void take(const HistoryTold& row) {
    Message& message = open_[row.contact];
    const bool same = message.note.made_at == row.at && message.note.first_line == row.first_line &&
                      !message.note.contact.empty();
    if (!same) {
      close(message);
      message = {};
      message.note.contact = row.contact;
      message.note.made_at = row.at;
      message.note.first_line = row.first_line;
      message.sort = row.sort;
      const auto urgency = index_of(kUrgencyNames, row.urgency);
      message.readable = urgency.has_value();
      if (urgency) message.note.urgency = static_cast<Urgency>(*urgency);
    }
    message.delivered = message.delivered || row.delivered_at;
    message.readable = read_alarms(row.alarms, message.note.events) && message.readable;
  }

  std::uint64_t finish() {
    for (auto& [contact, message] : open_) close(message);
    return unreadable_;
  }

 private:
  void close(const Message& message) {
    if (message.note.contact.empty()) return;
    if (!message.readable)
      ++unreadable_;
    else if (!message.delivered)
      into_.take_undelivered(message.note.contact);
    else if (is_about_alarms(message.sort))
      into_.take(message.note);
    else
      into_.take_other(message.note.contact);
  }

  PeopleTally& into_;
  std::map<std::string, Message> open_;  // by contact: the one whose rows may go on
  std::uint64_t unreadable_ = 0;
};

}  // namespace

std::string read_told(const HistoryFile& file, const HistoryQuestion& question, PeopleTally& into,
                      std::uint64_t& unreadable) {
  Gathering gathering(into);
  const auto why = file.told(question, [&](const HistoryTold& row) {
    gathering.take(row);
    return true;
  });
  unreadable += gathering.finish();
  return why ? why->why : std::string();
}

}  // namespace clutchward
