// The terminal by the few sequences that all of them know (ECMA-48; the second screen is xterm's).
#include "live_screen.h"

#include <poll.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <algorithm>
#include <csignal>

namespace clutchward {
namespace {

volatile std::sig_atomic_t ended = 0;
volatile std::sig_atomic_t resized = 0;

void note_end(int) { ended = 1; }
void note_size(int) { resized = 1; }

void write_all(const std::string& text) {
  std::string_view rest = text;
  while (!rest.empty()) {
    const ssize_t wrote = ::write(STDOUT_FILENO, rest.data(), rest.size());
    if (wrote <= 0) return;
    rest.remove_prefix(static_cast<std::size_t>(wrote));
  }
}

}  // namespace

void watch_for_the_end() {
  struct sigaction action {};
  action.sa_handler = note_end;  // without SA_RESTART: what waits wakes up
  for (const int signal : {SIGINT, SIGTERM, SIGHUP}) ::sigaction(signal, &action, nullptr);
  action.sa_handler = note_size;
  ::sigaction(SIGWINCH, &action, nullptr);
}

bool asked_to_end() { return ended != 0; }

void rest(int milliseconds) {
  if (ended == 0 && resized == 0) ::poll(nullptr, 0, milliseconds);
}

LiveScreen::LiveScreen() { write_all("\033[?1049h\033[?25l\033[H\033[2J"); }

LiveScreen::~LiveScreen() { write_all("\033[?25h\033[?1049l"); }

void LiveScreen::show(const std::string& text) {
  winsize size{};
  resized = 0;
  const bool known = ::ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_row > 0;
  const int rows = known ? size.ws_row : 24;
  const int columns = known && size.ws_col > 0 ? size.ws_col : 80;
  std::string out;
  if (rows != rows_ || columns != columns_) {
    shown_.clear();
    out += "\033[2J";
  }
  rows_ = rows;
  columns_ = columns;
  std::vector<std::string> lines;
  for (std::size_t from = 0; from < text.size();) {
    const std::size_t end = std::min(text.find('\n', from), text.size());
    lines.push_back(cut_to_width(text.substr(from, end - from), static_cast<std::size_t>(columns)));
    from = end + 1;
  }
  const auto room = static_cast<std::size_t>(rows);
  if (lines.size() > room) {
    const std::size_t hidden = lines.size() - room + 1;
    lines.resize(room - 1);
    lines.push_back(cut_to_width("\u2026 and " + std::to_string(hidden) + " lines more",
                                 static_cast<std::size_t>(columns)));
  }
  for (std::size_t row = 0; row < std::max(lines.size(), shown_.size()); ++row) {
    const std::string line = row < lines.size() ? lines[row] : "";
    if (row < shown_.size() && shown_[row] == line) continue;
    out += "\033[" + std::to_string(row + 1) + ";1H" + line + "\033[K";
  }
  if (!out.empty()) write_all(out);
  shown_ = std::move(lines);
}

// Characters, without colours.
static std::size_t visible(const std::string& line) {
  std::size_t count = 0;
  for (std::size_t at = 0; at < line.size(); ++at) {
    if (line[at] == '\033')
      at = std::min(line.find('m', at), line.size() - 1);
    else if ((static_cast<unsigned char>(line[at]) & 0xc0U) != 0x80)
      ++count;
  }
  return count;
}

std::string cut_to_width(const std::string& line, std::size_t width) {
  const bool too_long = visible(line) > width;
  if (too_long && width > 0) --width;  // for the sign that something is missing
  const std::string sign = too_long ? "\u2026" : "";
  std::string out;
  bool painted = false;
  std::size_t used = 0;
  for (std::size_t at = 0; at < line.size();) {
    if (line[at] == '\033') {
      const std::size_t end = std::min(line.find('m', at), line.size() - 1);
      out += line.substr(at, end + 1 - at);
      painted = out.substr(out.rfind('\033')) != "\033[0m";
      at = end + 1;
      continue;
    }
    std::size_t next = at + 1;
    while (next < line.size() && (static_cast<unsigned char>(line[next]) & 0xc0U) == 0x80) ++next;
    if (used == width) return out + sign + (painted ? "\033[0m" : "");
    out += line.substr(at, next - at);
    ++used;
    at = next;
  }
  return out;
}

}  // namespace clutchward
