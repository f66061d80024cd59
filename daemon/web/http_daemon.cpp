// The library's callbacks. A request whose answer comes later is suspended: the connection costs
// its memory and nothing else until the answer resumes it.
#include "web/http_daemon.h"

#include <microhttpd.h>

#include <algorithm>
#include <map>

#include "base/check.h"
#include "base/limits.h"
#include "web/request_check.h"

namespace clutchward {
namespace {

// A page without scripts, frames, forms or anything from elsewhere.
constexpr const char* kPolicy =
    "default-src 'none'; style-src 'self'; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'";

constexpr std::pair<const char*, const char*> kHeaders[] = {
    {"Content-Security-Policy", kPolicy},
    {"X-Content-Type-Options", "nosniff"},
    {"Referrer-Policy", "no-referrer"},
    {"Cache-Control", "no-store"},
    {"Connection", "close"},
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
};

// Outlives the daemon as long as somebody still holds an answer to give.
struct Open {
  std::map<std::uint64_t, Exchange*> exchanges;
  std::size_t waiting = 0;
  std::uint64_t next = 1;
  bool resumed = false;  // a connection, since the last turn
};

MHD_Result queue(MHD_Connection* connection, const Answer& answer) {
  MHD_Response* response = MHD_create_response_from_buffer(
      answer.body.size(), const_cast<char*>(answer.body.data()), MHD_RESPMEM_MUST_COPY);
  if (response == nullptr) return MHD_NO;
  for (const auto& [name, value] : kHeaders) MHD_add_response_header(response, name, value);
  MHD_add_response_header(response, "Content-Type", std::string(answer.type).c_str());
  if (!answer.allow.empty()) MHD_add_response_header(response, "Allow", answer.allow.c_str());
  if (answer.status == 503) MHD_add_response_header(response, "Retry-After", "5");
  const MHD_Result queued = MHD_queue_response(connection, answer.status, response);
  MHD_destroy_response(response);
  return queued;
}

MHD_Result keep_header(void* into, MHD_ValueKind, const char* name, const char* value) {
  static_cast<Headers*>(into)->emplace_back(name, value == nullptr ? "" : value);
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
  --there->waiting;
  there->resumed = true;
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
    if (auto fault = host_fault(headers, terms.own_host)) return fault;
  auto path = decoded_path(url);
  if (!path) return sentence(400, "The address has a broken escape or is no UTF-8.");
  exchange.request.entrance = terms.entrance;
  exchange.request.method = method == "HEAD" ? "GET" : method;
  exchange.request.path = std::move(*path);
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
  if (const auto refusal = refused_at_once(headers, *exchange, url, method)) {
    exchange->handed_over = true;
    return queue(connection, *refusal);
  }
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
  if (exchange.answer) return queue(exchange.connection, *exchange.answer);
  exchange.suspended = true;
  ++open->waiting;
  MHD_suspend_connection(exchange.connection);
  return MHD_YES;
}

MHD_Result HttpDaemon::Parts::on_request(void* self, MHD_Connection* connection, const char* url,
                                         const char* method, const char*, const char* upload,
                                         std::size_t* upload_size, void** slot) {
  auto& parts = *static_cast<Parts*>(self);
  if (*slot == nullptr) return parts.begin(connection, url, method, slot);
  auto& exchange = *static_cast<Exchange*>(*slot);
  if (*upload_size > 0) {
    const MHD_Result taken = parts.take_body(exchange, upload, *upload_size);
    *upload_size = 0;
    return taken;
  }
  if (exchange.answer) return queue(connection, *exchange.answer);
  // The library may come again for a request that waits; it then waits on.
  return exchange.handed_over ? MHD_YES : parts.hand_over(exchange);
}

void HttpDaemon::Parts::on_completed(void* self, MHD_Connection*, void** slot,
                                     MHD_RequestTerminationCode) {
  if (*slot == nullptr) return;
  auto& parts = *static_cast<Parts*>(self);
  const std::unique_ptr<Exchange> exchange(static_cast<Exchange*>(*slot));
  *slot = nullptr;
  if (exchange->suspended) --parts.open->waiting;
  parts.open->exchanges.erase(exchange->number);
}

HttpDaemon::HttpDaemon(std::unique_ptr<Parts> parts) : parts_(std::move(parts)) {}

HttpDaemon::~HttpDaemon() {
  // The library must not be stopped with a connection suspended.
  for (const auto& [number, exchange] : std::map(parts_->open->exchanges))
    if (exchange->suspended)
      give(parts_->open, number,
           sentence(503, "The daemon stops; whether the command was carried out is not known."));
  MHD_run(parts_->daemon);
  MHD_stop_daemon(parts_->daemon);
}

Result<std::unique_ptr<HttpDaemon>> HttpDaemon::start(ListeningSocket socket, HttpTerms terms,
                                                      Handler handler) {
  auto parts = std::make_unique<Parts>();
  parts->terms = std::move(terms);
  parts->handler = std::move(handler);
  parts->daemon = MHD_start_daemon(
      MHD_USE_EPOLL | MHD_ALLOW_SUSPEND_RESUME | MHD_USE_ITC, 0, nullptr, nullptr,
      &Parts::on_request, parts.get(),                                   //
      MHD_OPTION_LISTEN_SOCKET, socket.descriptor(),                     //
      MHD_OPTION_NOTIFY_COMPLETED, &Parts::on_completed, parts.get(),    //
      MHD_OPTION_UNESCAPE_CALLBACK, &leave_escapes, nullptr,             //
      MHD_OPTION_CONNECTION_LIMIT, parts->terms.connections,             //
      MHD_OPTION_PER_IP_CONNECTION_LIMIT, parts->terms.per_address,      //
      MHD_OPTION_CONNECTION_MEMORY_LIMIT, limits::kHttpConnectionBytes,  //
      MHD_OPTION_CONNECTION_TIMEOUT, static_cast<unsigned>(parts->terms.idle.count()),
      MHD_OPTION_STRICT_FOR_CLIENT, 1, MHD_OPTION_END);
  if (parts->daemon == nullptr) return Refusal{"the HTTP library does not start"};
  socket.release();  // the library closes it
  return std::unique_ptr<HttpDaemon>(new HttpDaemon(std::move(parts)));
}

int HttpDaemon::descriptor() const {
  const auto* info = MHD_get_daemon_info(parts_->daemon, MHD_DAEMON_INFO_EPOLL_FD);
  CHECK(info != nullptr);
  return info->epoll_fd;
}

void HttpDaemon::turn() {
  parts_->open->resumed = false;
  MHD_run(parts_->daemon);
}

std::optional<Span> HttpDaemon::timeout() const {
  // Neither the library's descriptor nor its time limit tells of a connection that was resumed.
  if (parts_->open->resumed) return Span{0};
  MHD_UNSIGNED_LONG_LONG milliseconds = 0;
  if (MHD_get_timeout(parts_->daemon, &milliseconds) != MHD_YES) return std::nullopt;
  constexpr MHD_UNSIGNED_LONG_LONG kMost = 60'000;
  return Span{static_cast<std::int64_t>(std::min(milliseconds, kMost))};
}

}  // namespace clutchward
