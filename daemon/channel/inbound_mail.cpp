// The mailbox's worker: connects, looks, waits, and begins again where something fails, at growing
// intervals. What crosses threads are mails going out, marks coming in and one line of trouble.
#include "channel/inbound_mail.h"

#include <sys/eventfd.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <condition_variable>
#include <mutex>
#include <system_error>
#include <thread>
#include <utility>

#include "base/check.h"
#include "base/limits.h"
#include "base/text.h"
#include "channel/imap_link.h"
#include "channel/mail_read.h"
#include "channel/secret_file.h"

namespace clutchward {
namespace {

using namespace std::chrono_literals;

// RFC 2177 wants IDLE renewed within 29 minutes; routers at home forget sooner (common practice, no
// published source).
constexpr Span kIdle = 9min;
constexpr Span kFirstPause = 5s;
constexpr Span kLongestPause = 5min;

class Signal {
 public:
  Signal() : fd_(::eventfd(0, EFD_CLOEXEC | EFD_NONBLOCK)) { CHECK(fd_ >= 0); }
  ~Signal() { ::close(fd_); }
  Signal(const Signal&) = delete;
  Signal& operator=(const Signal&) = delete;
  void raise() const {
    const std::uint64_t one = 1;
    [[maybe_unused]] const ssize_t written = ::write(fd_, &one, sizeof one);
  }
  void lower() const {
    std::uint64_t count = 0;
    [[maybe_unused]] const ssize_t got = ::read(fd_, &count, sizeof count);
  }
  int fd() const { return fd_; }

 private:
  int fd_;
};

}  // namespace

// What the loop and the workers share.
class InboundMail::Exchange {
 public:
  void add(FetchedMail mail) {
    const std::lock_guard lock(mutex_);
    waiting_.push_back(std::move(mail));
    ready_.raise();
  }
  std::vector<FetchedMail> take() {
    const std::lock_guard lock(mutex_);
    ready_.lower();
    return std::exchange(waiting_, {});
  }
  void set_trouble(std::string trouble) {
    const std::lock_guard lock(mutex_);
    if (trouble == trouble_) return;
    trouble_ = std::move(trouble);
    ready_.raise();
  }
  std::string trouble() {
    const std::lock_guard lock(mutex_);
    return trouble_;
  }
  int fd() const { return ready_.fd(); }

 private:
  Signal ready_;
  std::mutex mutex_;
  std::vector<FetchedMail> waiting_;
  std::string trouble_;
};

class InboundMail::Worker {
 public:
  Worker(RepliesSettings settings, std::string address, MailboxPlace from, TimeLimits limits,
         std::shared_ptr<Exchange> exchange)
      : settings_(std::move(settings)),
        address_(std::move(address)),
        place_(from),
        limits_(limits),
        exchange_(std::move(exchange)) {
    thread_ = std::jthread([this](const std::stop_token& stop) { run(stop); });
  }

  bool serves(const RepliesSettings& settings, const std::string& address) const {
    return settings == settings_ && address == address_;
  }
  void mark_seen(const MailboxPlace& place) {
    const std::lock_guard lock(mutex_);
    if (marks_.size() < limits::kMailsALook) marks_.push_back(place);
    wake_.raise();
  }
  void request_stop() { thread_.request_stop(); }
  bool ended() const { return ended_; }

 private:
  void run(const std::stop_token& stop);
  std::string serve(ImapLink& link);
  std::optional<Refusal> look(ImapLink& link);
  std::optional<Refusal> fetch(ImapLink& link, std::uint32_t uid);
  std::optional<Refusal> mark(ImapLink& link);
  void pause(Span length, const std::stop_token& stop);
  std::string folder() const { return "\"" + settings_.folder + "\""; }

  RepliesSettings settings_;
  std::string address_;
  MailboxPlace place_;
  TimeLimits limits_;
  std::shared_ptr<Exchange> exchange_;
  Signal wake_;
  std::mutex mutex_;
  std::vector<MailboxPlace> marks_;
  std::condition_variable_any pause_;
  bool served_ = false;  // by this connection
  std::atomic<bool> ended_ = false;
  std::jthread thread_;  // last: ends before what it uses
};

void InboundMail::Worker::run(const std::stop_token& stop) {
  const std::stop_callback waking(stop, [this] { wake_.raise(); });
  Span wait = kFirstPause;
  while (!stop.stop_requested()) {
    served_ = false;
    std::string trouble;
    if (const auto password = read_password(settings_.password_file)) {
      ImapLink link(limits_, stop, wake_.fd());
      const auto refusal = link.connect(settings_, *password);
      trouble = refusal ? refusal->why : serve(link);
    } else {
      trouble = password.why();
    }
    if (stop.stop_requested()) break;
    exchange_->set_trouble(printable(trouble));
    if (served_) wait = kFirstPause;
    pause(wait, stop);
    wait = std::min(2 * wait, kLongestPause);
  }
  ended_ = true;
}

void InboundMail::Worker::pause(Span length, const std::stop_token& stop) {
  std::unique_lock lock(mutex_);
  pause_.wait_for(lock, stop, length, [] { return false; });
}

// Goes on until something fails; says what.
std::string InboundMail::Worker::serve(ImapLink& link) {
  const auto offers = link.ask("CAPABILITY");
  if (!offers) return offers.why();
  const bool natively = std::any_of(offers->begin(), offers->end(), [](const ImapLine& line) {
    return (line.text + " ").find(" IDLE ") != std::string::npos;
  });
  for (;;) {
    if (const auto refusal = mark(link)) return refusal->why;
    if (const auto refusal = look(link)) return refusal->why;
    served_ = true;
    exchange_->set_trouble("");
    if (const auto refusal = link.idle(natively ? kIdle : settings_.every, natively))
      return refusal->why;
    wake_.lower();
  }
}

std::optional<Refusal> InboundMail::Worker::look(ImapLink& link) {
  const auto box = link.ask("EXAMINE " + folder());
  if (!box) return Refusal{box.why()};
  link.take_news();  // what is there now is looked at now
  std::uint32_t validity = 0;
  std::optional<std::uint32_t> next;
  for (const ImapLine& line : *box) {
    if (const auto number = imap_number(line.text, "UIDVALIDITY")) validity = *number;
    if (const auto number = imap_number(line.text, "UIDNEXT")) next = *number;
  }
  if (validity != place_.validity) place_ = {validity, 0};
  if (next && *next <= place_.uid + 1) return std::nullopt;
  // Only what is addressed to us: nothing else in the mailbox is even read.
  const std::string local = address_.substr(0, address_.rfind('@'));
  const auto found =
      link.ask("UID SEARCH UID " + std::to_string(place_.uid + 1) + ":* TO \"" + local + "+\"");
  if (!found) return Refusal{found.why()};
  std::vector<std::uint32_t> uids;
  for (const ImapLine& line : *found)
    if (const auto numbers = imap_search(line.text)) uids = *numbers;
  // "n:*" always names the newest mail as well, however old (RFC 3501, section 6.4.8).
  std::erase_if(uids, [this](std::uint32_t uid) { return uid <= place_.uid; });
  std::sort(uids.begin(), uids.end());
  if (uids.size() > limits::kMailsALook)
    uids.erase(uids.begin(), uids.end() - static_cast<std::ptrdiff_t>(limits::kMailsALook));
  for (const std::uint32_t uid : uids)
    if (const auto refusal = fetch(link, uid)) return refusal;
  if (next) place_.uid = std::max(place_.uid, *next - 1);
  return std::nullopt;
}

std::optional<Refusal> InboundMail::Worker::fetch(ImapLink& link, std::uint32_t uid) {
  const std::string which = "UID FETCH " + std::to_string(uid) + " ";
  const auto sizes = link.ask(which + "(UID RFC822.SIZE)");
  if (!sizes) return Refusal{sizes.why()};
  std::uint32_t size = 0;
  for (const ImapLine& line : *sizes)
    if (imap_number(line.text, "UID") == uid)
      size = imap_number(line.text, "RFC822.SIZE").value_or(0);
  FetchedMail out{{place_.validity, uid}, {}, ""};
  if (size > limits::kMailBytes) {
    out.unreadable = "it is too long: " + std::to_string(size) + " bytes";
  } else if (size > 0) {  // 0: gone meanwhile
    const auto lines = link.ask(which + "(UID BODY.PEEK[])");
    if (!lines) return Refusal{lines.why()};
    const std::string* bytes = nullptr;
    for (const ImapLine& line : *lines)
      if (imap_number(line.text, "UID") == uid && !line.literals.empty())
        bytes = &line.literals.front();
    auto mail = bytes == nullptr ? Result<IncomingMail>(Refusal{"the server does not show it"})
                                 : read_mail(*bytes);
    if (mail)
      out.mail = std::move(*mail);
    else
      out.unreadable = mail.why();
  }
  place_.uid = uid;
  if (size > 0) exchange_->add(std::move(out));
  return std::nullopt;
}

// SELECT is needed for it, and only then.
std::optional<Refusal> InboundMail::Worker::mark(ImapLink& link) {
  std::vector<MailboxPlace> marks;
  {
    const std::lock_guard lock(mutex_);
    marks = marks_;
  }
  if (marks.empty()) return std::nullopt;
  const auto box = link.ask("SELECT " + folder());
  if (!box) return Refusal{box.why()};
  std::uint32_t validity = 0;
  for (const ImapLine& line : *box)
    if (const auto number = imap_number(line.text, "UIDVALIDITY")) validity = *number;
  for (const MailboxPlace& each : marks) {
    if (each.validity != validity) continue;
    const auto done = link.ask("UID STORE " + std::to_string(each.uid) + " +FLAGS.SILENT (\\Seen)");
    if (!done && !link.is_open()) return Refusal{done.why()};
  }
  const std::lock_guard lock(mutex_);
  marks_.erase(marks_.begin(), marks_.begin() + static_cast<std::ptrdiff_t>(marks.size()));
  return std::nullopt;
}

InboundMail::InboundMail(TimeLimits limits)
    : limits_(limits), exchange_(std::make_shared<Exchange>()) {
  prepare_transfers();
}

InboundMail::~InboundMail() { stop(); }

void InboundMail::configure(const std::optional<RepliesSettings>& settings,
                            const std::string& address, MailboxPlace from) {
  ending_.remove_if([](const auto& worker) { return worker->ended(); });
  if (settings && worker_ && worker_->serves(*settings, address)) return;
  if (worker_) {
    worker_->request_stop();
    ending_.push_back(std::move(worker_));
  }
  exchange_->set_trouble("");
  if (!settings) return;
  try {
    worker_ = std::make_unique<Worker>(*settings, address, from, limits_, exchange_);
  } catch (const std::system_error& fault) {  // no thread to be had
    exchange_->set_trouble(fault.what());
  }
}

int InboundMail::ready_fd() const { return exchange_->fd(); }

std::vector<FetchedMail> InboundMail::take() { return exchange_->take(); }

std::string InboundMail::trouble() const { return exchange_->trouble(); }

void InboundMail::mark_seen(const MailboxPlace& place) {
  if (worker_) worker_->mark_seen(place);
}

void InboundMail::stop() {
  if (worker_) worker_->request_stop();
  worker_.reset();
  ending_.clear();
}

}  // namespace clutchward
