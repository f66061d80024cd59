// Two listeners behind one descriptor.
#include "web/server.h"

#include <fcntl.h>
#include <sys/epoll.h>
#include <unistd.h>

#include <algorithm>

#include "base/check.h"
#include "base/limits.h"
#include "web/http_daemon.h"
#include "web/link_page.h"
#include "web/routes.h"
#include "web/site.h"

namespace clutchward {

namespace {

// A night and a morning of a busy site.
constexpr std::size_t kLately = 200;

// A PEM file; "" where it cannot be read, which the library then refuses.
std::string contents(const std::string& file) {
  std::string text;
  const int descriptor = ::open(file.c_str(), O_RDONLY | O_CLOEXEC);
  if (descriptor < 0) return text;
  char block[4096];
  ssize_t got = 0;
  while (text.size() < limits::kConfigBytes && (got = ::read(descriptor, block, sizeof block)) > 0)
    text.append(block, static_cast<std::size_t>(got));
  ::close(descriptor);
  return text;
}

// "https://eggs.saltmere.example:8443" -> "eggs.saltmere.example"
std::string host_of_url(const std::string& url) {
  const auto begin = url.find("://");
  if (begin == std::string::npos) return {};
  const std::string rest = url.substr(begin + 3);
  return host_of(rest.find(':', rest.rfind(']') == std::string::npos ? 0 : rest.rfind(']')) ==
                         std::string::npos
                     ? rest + ":443"
                     : rest);
}

}  // namespace

struct WebServer::Parts {
  Site site;
  std::chrono::seconds idle;
  int epoll = -1;
  std::unique_ptr<HttpDaemon> control;
  std::unique_ptr<HttpDaemon> page;
  PageSettings page_settings;
  HttpTerms page_terms;                                      // those it is served by
  std::optional<std::pair<HttpTerms, std::string>> refused;  // tried last in its place, and why not
  SocketFile control_file;

  std::optional<Refusal> open(ListeningSocket socket, HttpTerms terms,
                              std::unique_ptr<HttpDaemon>& into) {
    terms.idle = idle;
    auto started = HttpDaemon::start(
        std::move(socket), std::move(terms),
        [this](const Request& request, Respond respond) { answer(site, request, respond); });
    if (!started) return Refusal{started.why()};
    into = std::move(*started);
    epoll_event interest{};
    interest.events = EPOLLIN;
    CHECK(::epoll_ctl(epoll, EPOLL_CTL_ADD, into->descriptor(), &interest) == 0);
    return std::nullopt;
  }

  std::optional<Refusal> open_page(const std::string& listen, const HttpTerms& terms) {
    auto socket = listen_at_address(listen);
    if (!socket) return Refusal{"page.listen " + socket.why()};
    std::unique_ptr<HttpDaemon> opened;
    if (auto refusal = open(std::move(*socket), terms, opened)) return refusal;
    page = std::move(opened);
    return std::nullopt;
  }
};

WebServer::WebServer(WebDoor door, std::chrono::seconds idle) : parts_(std::make_unique<Parts>()) {
  CHECK(door.views && door.briefs && door.cabinet && door.command && door.watch && door.now);
  parts_->site.door = std::move(door);
  parts_->idle = idle;
  parts_->epoll = ::epoll_create1(EPOLL_CLOEXEC);
  CHECK(parts_->epoll >= 0);
  epoll_event interest{};
  interest.events = EPOLLIN;
  const int hashes = parts_->site.gate.hashes.descriptor();
  CHECK(::epoll_ctl(parts_->epoll, EPOLL_CTL_ADD, hashes, &interest) == 0);
}

WebServer::~WebServer() {
  remove_if_same(parts_->control_file);
  parts_->control.reset();
  parts_->page.reset();
  ::close(parts_->epoll);
}

std::optional<Refusal> WebServer::serve_control(const std::string& state_directory) {
  const std::string path = control_socket_path(state_directory);
  auto socket = listen_at_path(path);
  if (!socket) return Refusal{socket.why()};
  parts_->control_file = socket_file(path);
  HttpTerms terms;
  terms.entrance = Entrance::control;
  terms.connections = limits::kControlConnections;
  return parts_->open(std::move(*socket), terms, parts_->control);
}

std::optional<Refusal> WebServer::serve_page(const std::string& listen) {
  PageTerms terms;
  terms.page.listen = listen;
  return serve_page(std::move(terms));
}

std::optional<Refusal> WebServer::serve_page(PageTerms wanted) {
  const PageSettings page_settings = wanted.page;
  parts_->site.gate.configure(std::move(wanted));
  const PageSettings& before = parts_->page_settings;
  if (page_settings.listen.empty()) {
    parts_->page.reset();
    parts_->page_settings = page_settings;
    return std::nullopt;
  }
  HttpTerms terms;
  terms.own_hosts = {host_of(page_settings.listen), host_of_url(page_settings.url)};
  terms.connections = limits::kHttpConnections;
  terms.per_address = limits::kHttpConnectionsPerAddress;
  // Behind a proxy everybody comes from one address.
  if (!page_settings.proxies.empty()) terms.per_address = 0;
  if (!page_settings.certificate_file.empty()) {
    // Read anew: that is what a reload after their renewal is for.
    terms.certificate = contents(page_settings.certificate_file);
    terms.key = contents(page_settings.key_file);
    if (terms.certificate.empty() || terms.key.empty())
      return Refusal{"page.tls: certificate or key cannot be read"};
  }
  const bool in_place = parts_->page && page_settings.listen == before.listen;
  if (in_place && terms == parts_->page_terms) return std::nullopt;  // nobody is cut off
  if (in_place && parts_->refused && terms == parts_->refused->first)
    return Refusal{parts_->refused->second};
  parts_->refused.reset();
  // The same address cannot be listened at twice. Where the new terms do not do (a certificate that
  // was renewed before its key), it is served by those of before.
  if (in_place) parts_->page.reset();
  auto refusal = parts_->open_page(page_settings.listen, terms);
  if (refusal && in_place)
    if (const auto again = parts_->open_page(before.listen, parts_->page_terms))
      refusal->why += "; and as it was: " + again->why + ": there is no page";
  if (refusal) {
    parts_->refused = {std::move(terms), refusal->why};
    return refusal;
  }
  parts_->page_terms = std::move(terms);
  parts_->page_settings = page_settings;
  return std::nullopt;
}

void WebServer::restore(const std::vector<std::pair<std::string, Tree>>& kept) {
  for (const auto& [key, tree] : kept) {
    if (key == "site/sessions") parts_->site.gate.sessions.restore(tree);
    if (key == "site/link-keys") parts_->site.gate.links.restore(tree);
    if (key == "site/looks") parts_->site.looks.restore(tree);
  }
}

std::vector<Change> WebServer::take_changes() {
  std::vector<Change> changes;
  if (auto tree = parts_->site.gate.sessions.take_changed())
    changes.push_back({"site/sessions", std::move(tree)});
  if (auto tree = parts_->site.gate.links.take_changed())
    changes.push_back({"site/link-keys", std::move(tree)});
  if (auto tree = parts_->site.looks.take_changed())
    changes.push_back({"site/looks", std::move(tree)});
  return changes;
}

void WebServer::tell(const std::vector<AlarmEvent>& events) {
  if (events.empty()) return;
  auto& lately = parts_->site.lately;
  lately.insert(lately.end(), events.begin(), events.end());
  while (lately.size() > kLately) lately.pop_front();
  parts_->site.streams.tell_change(parts_->site.door.now().steady);
}

void WebServer::recall(std::vector<AlarmEvent> events) {
  auto& lately = parts_->site.lately;
  // What has been told meanwhile stands there already, and was not in the history before.
  if (!lately.empty())
    std::erase_if(events, [&](const AlarmEvent& each) { return each.at >= lately.front().at; });
  lately.insert(lately.begin(), events.begin(), events.end());
  while (lately.size() > kLately) lately.pop_front();
}

MessageLinks WebServer::links_for(const Notification& message) {
  return ::clutchward::links_for(parts_->site, message, parts_->site.door.now().wall);
}

int WebServer::descriptor() const { return parts_->epoll; }

void WebServer::turn() {
  parts_->site.gate.hashes.turn();
  parts_->site.streams.beat(parts_->site.door.now().steady);
  parts_->site.curves.turn(parts_->site.door.now().steady);
  parts_->site.slices.turn();
  if (parts_->control) parts_->control->turn();
  if (parts_->page) parts_->page->turn();
}

bool WebServer::gathers() const { return parts_->site.slices.any(); }

std::optional<Span> WebServer::timeout() const {
  if (gathers()) return Span{0};
  std::optional<Span> least;
  for (const auto* each : {parts_->control.get(), parts_->page.get()}) {
    if (each == nullptr) continue;
    const auto timeout = each->timeout();
    if (timeout) least = least ? std::min(*least, *timeout) : timeout;
  }
  for (const auto& due : {parts_->site.streams.next_beat(), parts_->site.curves.next()}) {
    if (!due) continue;
    const Span wait = std::max(Span{0}, *due - parts_->site.door.now().steady);
    least = least ? std::min(*least, wait) : wait;
  }
  return least;
}

std::string control_socket_path(const std::string& state_directory) {
  return state_directory + "/control.sock";
}

}  // namespace clutchward
