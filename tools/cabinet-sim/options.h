// The command line of cabinet-sim, read whole and checked before anything runs.
#pragma once

#include <string>
#include <variant>
#include <vector>

#include "cabinet.h"

namespace clutchward::sim {

struct Options {
  std::string broker_host = "127.0.0.1";
  int broker_port = 1883;
  std::vector<std::string> cabinets;
  CabinetSettings settings;
  std::vector<Fault> faults;
  double speed = 60;             // simulated seconds a second
  std::optional<Span> duration;  // simulated; none: until stopped
  std::string record;            // a file, "-" standard output, "" the broker
  Wall start{};                  // of a recording
  std::string control;           // topic that takes faults while running, "" none
};

// What the program ends with before it began: help, the list of faults (0), or a fault in the
// command line (64).
struct Ending {
  int code;
  std::string out;    // for standard output
  std::string error;  // for standard error
};

std::variant<Options, Ending> read_options(int argc, const char* const* argv);

}  // namespace clutchward::sim
