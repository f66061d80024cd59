// The id of a message's mail (RFC 5322, section 3.6.4). It follows from the message's id alone, so
// a mail sent twice is recognised, and a reply says what it answers.
#pragma once

#include <string>
#include <string_view>

namespace clutchward {

// "20260301T021400000Z-17-setter-a@saltmere.example", without angle brackets: letters, digits, '-'
// stand for themselves, any other byte as "_" and two hex digits, so that two never become one.
std::string mail_id(std::string_view message_id, std::string_view domain);

// What stands behind the last '@'; "" where there is none.
std::string domain_of(std::string_view address);

}  // namespace clutchward
