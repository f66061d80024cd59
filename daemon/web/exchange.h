// One request and one answer as plain values: what the routes work with, without a socket in sight.
#pragma once

#include <functional>
#include <string>
#include <string_view>

namespace clutchward {

// Where a request came in: over the Unix socket (trusted by file permission) or over the network.
enum class Entrance : unsigned char { control, network };

struct Request {
  Entrance entrance = Entrance::network;
  std::string method;  // "GET"; HEAD comes here as GET
  std::string path;    // decoded: "/api/cabinets/setter a"
  std::string body;
};

struct Answer {
  unsigned status = 200;
  std::string_view type = "text/plain; charset=utf-8";  // of a literal
  std::string body;
  std::string allow;  // for 405: "GET, HEAD"
};

using Respond = std::function<void(Answer)>;

// A sentence for a person or a log, as text with a newline.
Answer sentence(unsigned status, std::string text);

}  // namespace clutchward
