// Writes a Tree as the narrow kind of YAML that every reader understands alike: block maps and
// lists, values always in double quotes (so that no reader takes "no", "007" or "1e3" for anything
// but text). Fast, since every turn passes through it. It writes no comments, anchors or tags.
#pragma once

#include <string>
#include <string_view>

#include "base/tree.h"

namespace clutchward {

// Deeper trees than this are our own bug: no reader of ours would take them back.
inline constexpr int kTreeDepth = 40;

// Appends `text` in double quotes. Control characters, quotes and backslashes become escapes;
// bytes that are no UTF-8 become U+FFFD, since YAML has no way to say them.
void write_quoted(std::string_view text, std::string& out);

// Appends "key: value" lines at `indent` blanks, newline included. Plain lower-case words stand
// without quotes as keys.
void write_member(std::string_view key, const Tree& value, int indent, std::string& out);

}  // namespace clutchward
