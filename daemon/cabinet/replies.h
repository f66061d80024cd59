// How replies by mail come in, as the configuration says it.
#pragma once

#include <string>

#include "base/time.h"

namespace clutchward {

struct RepliesSettings {
  std::string imap;  // imaps://host[:port], or imap:// with STARTTLS
  std::string user;
  std::string password_file;
  std::string ca_file;
  std::string folder = "INBOX";
  std::string address;  // what stands before "+TOKEN@"; smtp.from where it is not said
  Span every{std::chrono::minutes{1}};  // between two looks, where the server cannot say "mail!"
  bool operator==(const RepliesSettings&) const = default;
};

}  // namespace clutchward
