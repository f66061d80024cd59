// One request and one answer as plain values: what the routes work with, without a socket in sight.
#pragma once

#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace clutchward {

// Where a request came in: over the Unix socket (trusted by file permission) or over the network.
enum class Entrance : unsigned char { control, network };

// Without the blanks around it that HTTP allows (RFC 9110, optional whitespace; from memory).
inline std::string_view trimmed(std::string_view text) {
  while (text.starts_with(' ') || text.starts_with('\t')) text.remove_prefix(1);
  while (text.ends_with(' ') || text.ends_with('\t')) text.remove_suffix(1);
  return text;
}

using Headers = std::vector<std::pair<std::string, std::string>>;

struct Request {
  Entrance entrance = Entrance::network;
  std::string method;  // "GET"; HEAD comes here as GET
  std::string path;    // decoded: "/api/cabinets/setter a"
  std::string body;
  std::vector<std::pair<std::string, std::string>> query;  // decoded, in order
  Headers headers;
  std::string address;     // of the other end, numeric; "" over the Unix socket
  bool encrypted = false;  // by TLS of our own

  // The one value of that name, in any case of letters; "" where there is none or more than one.
  std::string_view header(std::string_view name) const;
  std::string_view parameter(std::string_view name) const;
};

// A body without an end: what is given to it goes out as it comes. Thread of the server only.
class Stream {
 public:
  virtual ~Stream() = default;
  // False once the reader is gone or too far behind: nothing more can be sent.
  virtual bool send(std::string_view text) = 0;
  virtual void close() = 0;
};

struct Answer {
  unsigned status = 200;
  std::string_view type = "text/plain; charset=utf-8";  // of a literal
  std::string body;
  std::string allow;  // for 405: "GET, HEAD"
  Headers headers;    // besides those that every answer has
  // Set: `body` is how it begins, and it goes on through the stream that is handed over here.
  std::function<void(std::shared_ptr<Stream>)> stream;
};

using Respond = std::function<void(Answer)>;

// A sentence for a person or a log, as text with a newline.
Answer sentence(unsigned status, std::string text);

}  // namespace clutchward
