// Who knows of an alarm and who has passed it on, in words.
#pragma once

#include <deque>
#include <optional>
#include <string>

#include "notification/told.h"
#include "web/page_words.h"

namespace clutchward {

// "Told: Mara and Joss. Mara passed it on at 02:20. Nobody is left to pass it on to."; "" where
// somebody has it, or nothing is known.
std::string told_words(const AlarmView& alarm, const std::optional<WhoKnows>& told,
                       const std::deque<AlarmEvent>& lately, const PageWords& words);

// When this person has passed it on since it rang last; none: not so.
std::optional<Wall> passed_on_by(const std::string& person, const AlarmView& alarm,
                                 const std::deque<AlarmEvent>& lately);

// "Mara" of "mara"; "Somebody" of nobody.
std::string name_in_words(const std::string& person);

}  // namespace clutchward
