// A batch's record as a tree of text, and back: for the state alone.
#pragma once

#include "base/tree.h"
#include "cabinet/batch_record.h"

namespace clutchward {

// Only what is not empty. What cannot be read back is left out, entry by entry.
Tree save_record(const BatchRecord& record);
BatchRecord load_record(const Tree& tree);

}  // namespace clutchward
