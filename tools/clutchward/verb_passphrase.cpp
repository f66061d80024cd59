// `clutchward passphrase`: makes the hash that stands in the configuration. Reads the secret from
// the terminal without showing it, or from standard input; never from the arguments, which
// everybody on the machine can read. Reaches no daemon and writes no file.
#include <sysexits.h>
#include <termios.h>
#include <unistd.h>

#include <iostream>

#include "access/passphrase.h"
#include "talk.h"
#include "verb.h"

namespace clutchward {
namespace {

// Shows nothing of what is typed while it lives.
class Unseen {
 public:
  Unseen() {
    if (::isatty(STDIN_FILENO) == 0 || ::tcgetattr(STDIN_FILENO, &before_) != 0) return;
    termios quiet = before_;
    quiet.c_lflag &= ~static_cast<tcflag_t>(ECHO);
    active_ = ::tcsetattr(STDIN_FILENO, TCSAFLUSH, &quiet) == 0;
  }
  ~Unseen() {
    if (active_) ::tcsetattr(STDIN_FILENO, TCSAFLUSH, &before_);
  }
  Unseen(const Unseen&) = delete;
  Unseen& operator=(const Unseen&) = delete;

 private:
  termios before_{};
  bool active_ = false;
};

bool read_secret_line(const char* prompt, std::string& into) {
  const bool terminal = ::isatty(STDIN_FILENO) != 0;
  if (terminal) std::cerr << prompt << std::flush;
  const Unseen unseen;
  const bool read = static_cast<bool>(std::getline(std::cin, into));
  if (terminal) std::cerr << '\n';
  return read;
}

struct PassphraseArguments {
  bool pin = false;
  bool json = false;
};

int run_passphrase(const PassphraseArguments& arguments) {
  const bool pin = arguments.pin;
  std::string secret;
  std::string again;
  if (!read_secret_line(pin ? "Six digits: " : "Passphrase: ", secret))
    return complain("nothing was typed", EX_NOINPUT);
  const std::string fault = pin ? pin_fault(secret) : passphrase_fault(secret);
  if (!fault.empty()) return complain(fault, EX_DATAERR);
  if (::isatty(STDIN_FILENO) != 0 && (!read_secret_line("Once more: ", again) || again != secret))
    return complain("the two are not the same", EX_DATAERR);
  const auto hash = hash_passphrase(secret);
  if (!hash) return complain(hash.why(), EX_SOFTWARE);
  std::cout << (arguments.json ? R"({"hash":")" + *hash + R"("})" : *hash) << '\n';
  return EX_OK;
}

}  // namespace

void add_passphrase(CLI::App& app, Run& run) {
  auto* verb = app.add_subcommand("passphrase", "Make the hash of a passphrase or a PIN");
  auto arguments = std::make_shared<PassphraseArguments>();
  verb->add_flag("--pin", arguments->pin, "a PIN of six digits, for signed links");
  verb->add_flag("--json", arguments->json, "print JSON for programs");
  verb->callback([&run, arguments] { run = [arguments] { return run_passphrase(*arguments); }; });
}

}  // namespace clutchward
