// Reads state back. What write_member() wrote goes through a small reader of exactly that kind of
// YAML (a start with ten thousand cabinets waits for it); anything else, such as a file that
// somebody edited, through the YAML library under strict rules. Both give the same Tree.
//
// Refused with line and column: anchors, aliases, tags, keys that are no text, keys that stand
// twice, nulls, more than one document, more depth or nodes than the limits.
#pragma once

#include <string>
#include <string_view>

#include "base/result.h"
#include "base/tree.h"

namespace clutchward {

// The one map that `text` holds. The Refusal begins with "line:column: ".
Result<Tree> read_yaml(std::string_view text);

// The two halves, apart for their tests. read_own_yaml answers nothing where the text is not
// exactly what write_member() writes (comment lines at its head apart).
std::optional<Tree> read_own_yaml(std::string_view text);
Result<Tree> read_any_yaml(std::string_view text);

}  // namespace clutchward
