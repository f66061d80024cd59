// Reads state folders, whose paths come line by line, with the real loader, and answers for each
// one line: "turn n right", "turn n wrong" (no state that was ever handed over) or "refused ...".
#include <iostream>
#include <string>

#include "store/ledger.h"
#include "store/real_files.h"
#include "workload.h"

int main() {
  using namespace clutchward;
  RealFiles disk;
  std::string folder;
  while (std::getline(std::cin, folder)) {
    StoreOptions options;
    options.folder = folder;
    options.reserve_bytes = 4096;
    const auto start = StateLedger::open(disk, options);
    if (!start) {
      std::cout << "refused " << start.why() << std::endl;
      continue;
    }
    const Kept& kept = start->kept;
    const Entries found(kept.entries.begin(), kept.entries.end());
    const bool right = found == workload::entries_after(kept.sequence);
    std::cout << "turn " << kept.sequence << (right ? " right" : " wrong");
    for (const std::string& finding : kept.findings) std::cout << " [" << finding << "]";
    std::cout << std::endl;
  }
}
