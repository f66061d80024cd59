// The mail that answers a reply by mail: what was done, or why not, and what is now true. Words
// only.
#pragma once

#include <string>
#include <vector>

#include "notification/daily.h"
#include "notification/notification.h"
#include "notification/wording.h"

namespace clutchward {

struct MailAnswer {
  bool done = false;
  std::string first;     // "acknowledged", "snoozed", "reset": what was done; "" : nothing
  std::string sentence;  // why not, or what else is to be said; "" : nothing
  std::vector<DailyCabinet> cabinets;  // that the message told of, as they stand now
  std::string to;                      // the id of the mail that it answers
};

// Everything but id, contact, channel and time.
Notification write_mail_answer(const MailAnswer& answer, const std::string& contact,
                               const Manner& manner);

}  // namespace clutchward
