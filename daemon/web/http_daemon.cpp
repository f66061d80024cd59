// The library's callbacks. A request whose answer comes later is suspended: the connection costs
// its memory and nothing else until the answer resumes it.
#include "web/http_daemon.h"

#include <arpa/inet.h>
#include <microhttpd.h>
#include <netinet/in.h>

#include <algorithm>
#include <array>
#include <map>
#include <vector>

#include "base/check.h"
#include "base/limits.h"
#include "web/request_check.h"

namespace clutchward {
namespace {

// Everything from this server alone: no inline script or style, no frame, no form to elsewhere.
constexpr const char* kPolicy =
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; connect-src 'self'; "
    "base-uri 'none'; form-action 'self'; frame-ancestors 'none'";

constexpr std::pair<const char*, const char*> kHeaders[] = {
    {"Content-Security-Policy", kPolicy},
    {"X-Content-Type-Options", "nosniff"},
    // Nothing to others; with "no-referrer" browsers would send our own forms with Origin: null.
    {"Referrer-Policy", "same-origin"},
    {"Cache-Control", "no-store"},
    {"Connection", "close"},
};

// The library asks for more whenever it has sent what it had; where there is none, the connection
// sleeps until there is.
class OpenStream final : public Stream {
 public:
  OpenStream(MHD_Connection* connection, std::string first, std::shared_ptr<bool> resumed)
      : connection_(connection), waiting_(std::move(first)), resumed_(std::move(resumed)) {}

  bool send(std::string_view text) override {
    if (connection_ == nullptr || ending_) return false;
    if (waiting_.size() + text.size() > limits::kStreamBytes) {
      close();  // a reader that far behind is gone, or might as well be
      return false;
    }
    waiting_ += text;
    wake();
    return true;
  }
  void close() override {
    ending_ = true;
    wake();
  }
  void gone() { connection_ = nullptr; }

  static ssize_t more(void* self, std::uint64_t, char* into, std::size_t most) {
    auto& stream = **static_cast<std::shared_ptr<OpenStream>*>(self);
    if (stream.waiting_.empty()) {
      if (stream.ending_) return MHD_CONTENT_READER_END_OF_STREAM;
      stream.asleep_ = true;
      MHD_suspend_connection(stream.connection_);
      return 0;
    }
    const std::size_t size = std::min(most, stream.waiting_.size());
    std::copy_n(stream.waiting_.begin(), size, into);
    stream.waiting_.erase(0, size);
    return static_cast<ssize_t>(size);
  }
  static void free(void* self) { delete static_cast<std::shared_ptr<OpenStream>*>(self); }

 private:
  void wake() {
    if (!asleep_ || connection_ == nullptr) return;
    asleep_ = false;
    *resumed_ = true;
    MHD_resume_connection(connection_);
  }

  MHD_Connection* connection_;
  std::string waiting_;
  std::shared_ptr<bool> resumed_;
  bool asleep_ = false;
  bool ending_ = false;
};

struct Exchange {
  std::uint64_t number = 0;
  MHD_Connection* connection = nullptr;
  Request request;
  std::optional<Answer>
      answer;  // before the routes were asked: the refusal that waits for the body
  bool handed_over = false;
  bool suspended = false;
  std::size_t discarded = 0;
  std::shared_ptr<OpenStream> stream;
};

// Pages that wait a moment for their curve take no command's place.
bool is_command(const Exchange& exchange) { return exchange.request.method == "POST"; }

// Outlives the daemon as long as somebody still holds an answer to give.
struct Open {
  std::map<std::uint64_t, Exchange*> exchanges;
  std::size_t waiting = 0;  // commands
  std::uint64_t next = 1;
  std::shared_ptr<bool> resumed =
      std::make_shared<bool>(false);  // a connection, since the last turn
};

// The body goes over to the library: a site of thousands has some of 20 MB, and a copy takes a
// while.
MHD_Response* response_of(Answer& answer, Exchange* exchange,
                          const std::shared_ptr<bool>& resumed) {
  if (!answer.stream || exchange == nullptr) {
    auto body = std::make_unique<std::string>(std::move(answer.body));
    MHD_Response* response = MHD_create_response_from_buffer_with_free_callback_cls(
        body->size(), body->data(), [](void* own) { delete static_cast<std::string*>(own); },
        body.get());
    if (response != nullptr) (void)body.release();  // NOLINT: the library calls delete
    return response;
  }
  constexpr std::size_t kBlock = 1024;
  exchange->stream = std::make_shared<OpenStream>(exchange->connection, answer.body, resumed);
  return MHD_create_response_from_callback(
      MHD_SIZE_UNKNOWN, kBlock, &OpenStream::more,
      new std::shared_ptr<OpenStream>(exchange->stream),  // NOLINT: the library calls free
      &OpenStream::free);
}

bool names(const Headers& headers, std::string_view name) {
  return std::any_of(headers.begin(), headers.end(),
                     [&](const auto& each) { return each.first == name; });
}

MHD_Result queue(MHD_Connection* connection, Answer& answer, Exchange* exchange = nullptr,
                 const std::shared_ptr<bool>& resumed = nullptr) {
  MHD_Response* response = response_of(answer, exchange, resumed);
  if (response == nullptr) return MHD_NO;
  for (const auto& [name, value] : kHeaders)
    if (!names(answer.headers, name)) MHD_add_response_header(response, name, value);
  MHD_add_response_header(response, "Content-Type", std::string(answer.type).c_str());
  if (!answer.allow.empty()) MHD_add_response_header(response, "Allow", answer.allow.c_str());
  if (answer.status == 503) MHD_add_response_header(response, "Retry-After", "5");
  for (const auto& [name, value] : answer.headers)
    MHD_add_response_header(response, name.c_str(), value.c_str());
  const MHD_Result queued = MHD_queue_response(connection, answer.status, response);
  MHD_destroy_response(response);
  if (exchange != nullptr && exchange->stream) answer.stream(exchange->stream);
  return queued;
}

MHD_Result keep_header(void* into, MHD_ValueKind, const char* name, const char* value) {
  static_cast<Headers*>(into)->emplace_back(name, value == nullptr ? "" : value);
  return MHD_YES;
}

// "203.0.113.7", "2001:db8::7"; "" for what has none.
std::string address_of(MHD_Connection* connection) {
  const auto* info = MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CLIENT_ADDRESS);
  if (info == nullptr || info->client_addr == nullptr) return {};
  std::array<char, INET6_ADDRSTRLEN> text{};
  const sockaddr* address = info->client_addr;
  const void* bytes = nullptr;
  if (address->sa_family == AF_INET)
    bytes = &reinterpret_cast<const sockaddr_in*>(address)->sin_addr;
  else if (address->sa_family == AF_INET6)
    bytes = &reinterpret_cast<const sockaddr_in6*>(address)->sin6_addr;
  if (bytes == nullptr) return {};
  if (::inet_ntop(address->sa_family, bytes, text.data(), text.size()) == nullptr) return {};
  const std::string_view said(text.data());
  constexpr std::string_view kMapped = "::ffff:";
  return std::string(said.starts_with(kMapped) ? said.substr(kMapped.size()) : said);
}

MHD_Result keep_parameter(void* into, MHD_ValueKind, const char* name, const char* value) {
  auto& text = *static_cast<std::string*>(into);
  text += (text.empty() ? "" : "&") + std::string(name) + "=" + (value == nullptr ? "" : value);
  return MHD_YES;
}

std::size_t leave_escapes(void*, MHD_Connection*, char* text) {
  return std::char_traits<char>::length(text);
}

void give(const std::weak_ptr<Open>& open, std::uint64_t number, Answer answer) {
  const auto there = open.lock();
  if (!there) return;
  const auto found = there->exchanges.find(number);
  if (found == there->exchanges.end() || found->second->answer) return;
  Exchange& exchange = *found->second;
  exchange.answer = std::move(answer);
  if (!exchange.suspended) return;
  exchange.suspended = false;
  if (is_command(exchange)) --there->waiting;
  *there->resumed = true;
  MHD_resume_connection(exchange.connection);
}

}  // namespace

struct HttpDaemon::Parts {
  HttpTerms terms;
  Handler handler;
  std::shared_ptr<Open> open = std::make_shared<Open>();
  MHD_Daemon* daemon = nullptr;

  static MHD_Result on_request(void* self, MHD_Connection* connection, const char* url,
                               const char* method, const char* version, const char* upload,
                               std::size_t* upload_size, void** slot);
  static void on_completed(void* self, MHD_Connection* connection, void** slot,
                           MHD_RequestTerminationCode why);

  std::optional<Answer> refused_at_once(const Headers& headers, Exchange& exchange,
                                        std::string_view url, std::string_view method) const;
  MHD_Result begin(MHD_Connection* connection, const char* url, const char* method, void** slot);
  MHD_Result take_body(Exchange& exchange, const char* upload, std::size_t size);
  MHD_Result hand_over(Exchange& exchange);
};

// Refusals that can wait for the body to be read are left in exchange.answer; the others are given.
std::optional<Answer> HttpDaemon::Parts::refused_at_once(const Headers& headers, Exchange& exchange,
                                                         std::string_view url,
                                                         std::string_view method) const {
  std::size_t length = 0;
  if (auto fault = framing_fault(headers, length)) return fault;
  if (terms.entrance == Entrance::network)
    if (auto fault = host_fault(headers, terms.own_hosts)) return fault;
  auto path = decoded_path(url);
  if (!path) return sentence(400, "The address has a broken escape or is no UTF-8.");
  exchange.request.entrance = terms.entrance;
  exchange.request.method = method == "HEAD" ? "GET" : method;
  exchange.request.path = std::move(*path);
  std::string query;
  MHD_get_connection_values(exchange.connection, MHD_GET_ARGUMENT_KIND, keep_parameter, &query);
  auto fields = decoded_form(query);
  if (!fields) return sentence(400, "The address has a query that cannot be read.");
  exchange.request.query = std::move(*fields);
  exchange.request.address = address_of(exchange.connection);
  exchange.request.encrypted = !terms.certificate.empty();
  const auto too_long = [&] {
    return sentence(413, "The body has " + std::to_string(length) + " bytes; expected at most " +
                             std::to_string(limits::kHttpBodyBytes) + ".");
  };
  if (length > limits::kHttpDiscardedBytes) return too_long();
  if (length > limits::kHttpBodyBytes) exchange.answer = too_long();
  return std::nullopt;
}

MHD_Result HttpDaemon::Parts::begin(MHD_Connection* connection, const char* url, const char* method,
                                    void** slot) {
  auto exchange = std::make_unique<Exchange>();
  exchange->connection = connection;
  Headers headers;
  MHD_get_connection_values(connection, MHD_HEADER_KIND, keep_header, &headers);
  if (auto refusal = refused_at_once(headers, *exchange, url, method)) {
    exchange->handed_over = true;
    return queue(connection, *refusal);
  }
  exchange->request.headers = std::move(headers);
  exchange->number = open->next++;
  open->exchanges[exchange->number] = exchange.get();
  *slot = exchange.release();
  return MHD_YES;
}

MHD_Result HttpDaemon::Parts::take_body(Exchange& exchange, const char* upload, std::size_t size) {
  if (exchange.answer) {
    exchange.discarded += size;
    return exchange.discarded > limits::kHttpDiscardedBytes ? MHD_NO : MHD_YES;
  }
  if (exchange.request.body.size() + size > limits::kHttpBodyBytes) return MHD_NO;
  exchange.request.body.append(upload, size);
  return MHD_YES;
}

MHD_Result HttpDaemon::Parts::hand_over(Exchange& exchange) {
  exchange.handed_over = true;
  if (open->waiting >= limits::kHttpWaitingCommands && exchange.request.method == "POST") {
    exchange.answer = sentence(503, "Too many commands wait for the disk. Try again in a moment.");
    return queue(exchange.connection, *exchange.answer);
  }
  handler(exchange.request, [open = std::weak_ptr<Open>(open), number = exchange.number](
                                Answer answer) { give(open, number, std::move(answer)); });
  if (exchange.answer)
    return queue(exchange.connection, *exchange.answer, &exchange, open->resumed);
  exchange.suspended = true;
  if (is_command(exchange)) ++open->waiting;
  MHD_suspend_connection(exchange.connection);
  return MHD_YES;
}

MHD_Result HttpDaemon::Parts::on_request(void* self, MHD_Connection* connection, const char* url,
                                         const char* method, const char*, const char* upload,
                                         std::size_t* upload_size, void** slot) {
  auto& parts = *static_cast<Parts*>(self);
  // Above this stand the library's frames, which no exception may cross: the watch goes on.
  try {
    if (*slot == nullptr) return parts.begin(connection, url, method, slot);
    auto& exchange = *static_cast<Exchange*>(*slot);
    if (*upload_size > 0) {
      const MHD_Result taken = parts.take_body(exchange, upload, *upload_size);
      *upload_size = 0;
      return taken;
    }
    if (exchange.answer) return queue(connection, *exchange.answer, &exchange, parts.open->resumed);
    // The library may come again for a request that waits; it then waits on.
    return exchange.handed_over ? MHD_YES : parts.hand_over(exchange);
  } catch (const std::exception&) {
    Answer fault = sentence(500, "This cannot be answered: a fault of the program.");
    return queue(connection, fault);
  }
}

void HttpDaemon::Parts::on_completed(void* self, MHD_Connection*, void** slot,
                                     MHD_RequestTerminationCode) {
  if (*slot == nullptr) return;
  auto& parts = *static_cast<Parts*>(self);
  const std::unique_ptr<Exchange> exchange(static_cast<Exchange*>(*slot));
  *slot = nullptr;
  if (exchange->suspended && is_command(*exchange)) --parts.open->waiting;
  if (exchange->stream) exchange->stream->gone();
  parts.open->exchanges.erase(exchange->number);
}

HttpDaemon::HttpDaemon(std::unique_ptr<Parts> parts) : parts_(std::move(parts)) {}

HttpDaemon::~HttpDaemon() {
  // The library must not be stopped with a connection suspended.
  for (const auto& [number, exchange] : std::map(parts_->open->exchanges))
    if (exchange->suspended)
      give(parts_->open, number,
           sentence(503, "The daemon stops; whether the command was carried out is not known."));
  for (const auto& [number, exchange] : parts_->open->exchanges)
    if (exchange->stream) exchange->stream->close();
  MHD_run(parts_->daemon);
  MHD_stop_daemon(parts_->daemon);
}

Result<std::unique_ptr<HttpDaemon>> HttpDaemon::start(ListeningSocket socket, HttpTerms terms,
                                                      Handler handler) {
  auto parts = std::make_unique<Parts>();
  parts->terms = std::move(terms);
  parts->handler = std::move(handler);
  const HttpTerms& own = parts->terms;
  std::vector<MHD_OptionItem> tls;
  if (!own.certificate.empty()) {
    tls.push_back({MHD_OPTION_HTTPS_MEM_CERT, 0, const_cast<char*>(own.certificate.c_str())});
    tls.push_back({MHD_OPTION_HTTPS_MEM_KEY, 0, const_cast<char*>(own.key.c_str())});
    // TLS 1.2 and later, as OWASP's ASVS 12.1.1 asks.
    tls.push_back({MHD_OPTION_HTTPS_PRIORITIES, 0,
                   const_cast<char*>("NORMAL:-VERS-ALL:+VERS-TLS1.3:+VERS-TLS1.2")});
  }
  tls.push_back({MHD_OPTION_END, 0, nullptr});
  parts->daemon = MHD_start_daemon(
      MHD_USE_EPOLL | MHD_ALLOW_SUSPEND_RESUME | MHD_USE_ITC |
          (own.certificate.empty() ? 0U : static_cast<unsigned>(MHD_USE_TLS)),
      0, nullptr, nullptr, &Parts::on_request, parts.get(),            //
      MHD_OPTION_LISTEN_SOCKET, socket.descriptor(),                   //
      MHD_OPTION_NOTIFY_COMPLETED, &Parts::on_completed, parts.get(),  //
      MHD_OPTION_UNESCAPE_CALLBACK, &leave_escapes, nullptr,           //
      MHD_OPTION_CONNECTION_LIMIT, own.connections,                    //
      MHD_OPTION_PER_IP_CONNECTION_LIMIT, own.per_address,             //
      MHD_OPTION_CONNECTION_MEMORY_LIMIT, limits::kHttpConnectionBytes,
      MHD_OPTION_CONNECTION_TIMEOUT, static_cast<unsigned>(own.idle.count()),
      MHD_OPTION_STRICT_FOR_CLIENT, 1, MHD_OPTION_ARRAY, tls.data(), MHD_OPTION_END);
  if (parts->daemon == nullptr)
    return Refusal{own.certificate.empty()
                       ? "the HTTP library does not start"
                       : "TLS does not start: certificate and key do not go together, or cannot "
                         "be read"};
  socket.release();  // the library closes it
  return std::unique_ptr<HttpDaemon>(new HttpDaemon(std::move(parts)));
}

int HttpDaemon::descriptor() const {
  const auto* info = MHD_get_daemon_info(parts_->daemon, MHD_DAEMON_INFO_EPOLL_FD);
  CHECK(info != nullptr);
  return info->epoll_fd;
}

void HttpDaemon::turn() {
  *parts_->open->resumed = false;
  MHD_run(parts_->daemon);
}

std::optional<Span> HttpDaemon::timeout() const {
  // Neither the library's descriptor nor its time limit tells of a connection that was resumed.
  if (*parts_->open->resumed) return Span{0};
  MHD_UNSIGNED_LONG_LONG milliseconds = 0;
  if (MHD_get_timeout(parts_->daemon, &milliseconds) != MHD_YES) return std::nullopt;
  constexpr MHD_UNSIGNED_LONG_LONG kMost = 60'000;
  return Span{static_cast<std::int64_t>(std::min(milliseconds, kMost))};
}

}  // namespace clutchward
