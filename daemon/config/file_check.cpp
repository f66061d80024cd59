// Reads configuration files whole and looks at the files they name.
#include "config/file_check.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <filesystem>
#include <system_error>

#include "base/text.h"
#include "config/values.h"

namespace clutchward {

namespace {

// A descriptor that closes itself.
class Descriptor {
 public:
  explicit Descriptor(const std::string& path)
      // Without waiting: a pipe or a device of that name must not hold us up.
      : number_(::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK)) {}
  ~Descriptor() {
    if (number_ >= 0) ::close(number_);
  }
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  int number() const { return number_; }

 private:
  int number_;
};

std::string system_word(int error) { return std::generic_category().message(error); }

// Opens and looks; "" where it is a plain file.
std::string look(const Descriptor& file, struct stat& status) {
  if (file.number() < 0) return "cannot be read: " + system_word(errno);
  if (::fstat(file.number(), &status) != 0) return "cannot be read: " + system_word(errno);
  if (S_ISDIR(status.st_mode)) return "is a directory; expected a file";
  if (!S_ISREG(status.st_mode)) return "is no plain file; expected one";
  return "";
}

}  // namespace

FileText read_file(const std::string& path, std::size_t limit) {
  FileText result;
  const Descriptor file(path);
  struct stat status {};
  result.why = look(file, status);
  if (!result.why.empty()) return result;
  char block[16 * 1024];
  while (true) {
    const ssize_t count = ::read(file.number(), block, sizeof block);
    if (count < 0 && errno == EINTR) continue;
    if (count < 0) {
      result.why = "cannot be read: " + system_word(errno);
      return result;
    }
    if (count == 0) return result;
    result.text.append(block, static_cast<std::size_t>(count));
    if (result.text.size() > limit) {
      result.why = "has more than " + std::to_string(limit) + " bytes; expected at most so many";
      return result;
    }
  }
}

std::optional<std::string> read_file_name(const Field& field, Content content) {
  const std::optional<std::string> name = read_text(field, "the name of a file", 4000);
  if (!name) return std::nullopt;
  const std::filesystem::path folder = std::filesystem::path(field.faults.file()).parent_path();
  const std::string path = (folder / *name).lexically_normal().string();
  const Descriptor file(path);
  struct stat status {};
  const std::string why = look(file, status);
  if (!why.empty()) {
    field.faults.add(field.node.place, field.path + " names " + printable(path) + ", which " + why,
                     /*about_other_file=*/true);
  } else if (status.st_size == 0) {
    field.faults.add(field.node.place,
                     field.path + " names " + printable(path) + ", which is empty",
                     /*about_other_file=*/true);
  } else if (content == Content::secret && (status.st_mode & S_IROTH) != 0) {
    field.warn(
        field.path + " names " + printable(path) +
        ", which everybody on this machine can read; expected only its owner to (chmod 600)");
  }
  return path;
}

}  // namespace clutchward
