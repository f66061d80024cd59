// A screen that stays: takes the terminal while it lives and gives it back as it was, whichever way
// the program ends short of being killed.
#pragma once

#include <string>
#include <vector>

namespace clutchward {

// Set by ^C, SIGTERM and SIGHUP once watched for; looked at by whoever waits.
void watch_for_the_end();
bool asked_to_end();
// Waits so long, less where the end is asked for or the terminal changed its size.
void rest(int milliseconds);

class LiveScreen {
 public:
  LiveScreen();
  ~LiveScreen();
  LiveScreen(const LiveScreen&) = delete;
  LiveScreen& operator=(const LiveScreen&) = delete;

  // Shows the text's first lines, as many as there is room for; writes only those that are not
  // there already.
  void show(const std::string& text);

 private:
  std::vector<std::string> shown_;
  int rows_ = 0;
  int columns_ = 0;
};

// The first `width` characters, the last of them "…" where more follow; colours count for nothing,
// and one that is cut off is ended.
std::string cut_to_width(const std::string& line, std::size_t width);

}  // namespace clutchward
