// Reads small secret files, bounded: neither a device nor a huge file by mistake can hold a
// channel.
#include "channel/secret_file.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <string_view>
#include <system_error>

#include "base/limits.h"
#include "base/text.h"

namespace clutchward {
namespace {

Refusal refusal(const std::string& path, const std::string& what) {
  return Refusal{"secret file " + printable(path) + ": " + what};
}

Result<std::string> read_small(const std::string& path) {
  // Not blocking, so that a FIFO without a writer cannot hold the channel.
  const int fd = ::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK);
  if (fd < 0) return refusal(path, std::generic_category().message(errno));
  std::string content(limits::kSecretFileBytes + 1, '\0');
  std::size_t length = 0;
  int error = 0;
  while (length < content.size()) {
    const ssize_t got = ::read(fd, content.data() + length, content.size() - length);
    if (got < 0 && errno == EINTR) continue;
    if (got < 0) error = errno;
    if (got <= 0) break;
    length += static_cast<std::size_t>(got);
  }
  ::close(fd);
  if (error != 0) return refusal(path, std::generic_category().message(error));
  if (length > limits::kSecretFileBytes)
    return refusal(path, "larger than " + std::to_string(limits::kSecretFileBytes) + " bytes");
  content.resize(length);
  return content;
}

std::string_view trimmed(std::string_view text) {
  constexpr std::string_view kBlank = " \t\r";
  const auto first = text.find_first_not_of(kBlank);
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(kBlank) - first + 1);
}

}  // namespace

Result<std::vector<std::string>> read_secret_lines(const std::string& path) {
  const Result<std::string> content = read_small(path);
  if (!content) return Refusal{content.why()};
  std::vector<std::string> lines;
  std::string_view rest = *content;
  while (!rest.empty()) {
    const auto end = rest.find('\n');
    const std::string_view line = trimmed(rest.substr(0, end));
    if (!line.empty()) lines.emplace_back(line);
    rest = end == std::string_view::npos ? std::string_view() : rest.substr(end + 1);
  }
  if (lines.empty()) return refusal(path, "empty");
  if (lines.size() > limits::kSecretLines)
    return refusal(path, "more than " + std::to_string(limits::kSecretLines) + " lines");
  return lines;
}

Result<std::string> read_password(const std::string& path) {
  Result<std::string> content = read_small(path);
  if (!content) return content;
  std::string password = content->substr(0, content->find('\n'));
  if (!password.empty() && password.back() == '\r') password.pop_back();
  if (password.empty()) return refusal(path, "empty");
  return password;
}

}  // namespace clutchward
