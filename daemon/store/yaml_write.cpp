// The emitter: straight appends to one string, no intermediate values.
#include "store/yaml_write.h"

#include <algorithm>
#include <array>
#include <cstdint>

#include "base/check.h"
#include "base/utf8.h"

namespace clutchward {
namespace {

constexpr std::string_view kHex = "0123456789ABCDEF";

void write_block(const Tree& tree, int indent, bool first_line_open, std::string& out);

// A word that other readers would take for a truth value or for nothing.
bool is_reserved(std::string_view key) {
  constexpr std::array<std::string_view, 9> kWords = {"y",   "n",    "yes",   "no",  "on",
                                                      "off", "true", "false", "null"};
  return std::find(kWords.begin(), kWords.end(), key) != kWords.end();
}

bool is_plain_key(std::string_view key) {
  if (key.empty() || key[0] < 'a' || key[0] > 'z') return false;
  const bool plain = std::all_of(key.begin(), key.end(), [](char c) {
    return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '_' || c == '-';
  });
  return plain && !is_reserved(key);
}

void write_key(std::string_view key, std::string& out) {
  if (is_plain_key(key))
    out += key;
  else
    write_quoted(key, out);
}

// What stands behind "key:" or "-": a value on the same line, or a block.
bool write_inline(const Tree& value, std::string& out) {
  if (value.kind == Tree::Kind::scalar) {
    write_quoted(value.text, out);
  } else if (value.members.empty()) {
    out += value.kind == Tree::Kind::list ? "[]" : "{}";
  } else {
    return false;
  }
  out += '\n';
  return true;
}

void write_item(const Tree& item, int indent, std::string& out) {
  out += "- ";
  if (!write_inline(item, out)) write_block(item, indent + 2, true, out);
}

// "key: value" on a line whose `indent` blanks stand already.
void write_entry(std::string_view key, const Tree& value, int indent, std::string& out) {
  write_key(key, out);
  out += ':';
  if (value.kind == Tree::Kind::scalar || value.members.empty()) {
    out += ' ';
    write_inline(value, out);
  } else {
    out += '\n';
    write_block(value, indent + 2, false, out);
  }
}

void write_block(const Tree& tree, int indent, bool first_line_open, std::string& out) {
  CHECK(indent <= 2 * kTreeDepth);
  for (const auto& [key, value] : tree.members) {
    if (!first_line_open) out.append(static_cast<std::size_t>(indent), ' ');
    first_line_open = false;
    if (tree.kind == Tree::Kind::list)
      write_item(value, indent, out);
    else
      write_entry(key, value, indent, out);
  }
}

void write_code_point(std::uint32_t code_point, std::string& out) {
  out += "\\u";
  for (int shift = 12; shift >= 0; shift -= 4) out += kHex[(code_point >> shift) & 0xFU];
}

// What YAML 1.2 (section 5.1) calls not printable, and the line ends of YAML 1.1.
bool needs_escape(std::uint32_t c) {
  return (c >= 0x7F && c <= 0x9F) || c == 0xA0 || c == 0x2028 || c == 0x2029 || c == 0xFEFF ||
         c == 0xFFFE || c == 0xFFFF;
}

}  // namespace

void write_quoted(std::string_view text, std::string& out) {
  out += '"';
  std::size_t i = 0;
  while (i < text.size()) {
    const auto c = static_cast<unsigned char>(text[i]);
    if (c >= 0x80) {
      const utf8::Character character = utf8::first(text.substr(i));
      if (character.bytes == 0) {
        out += "\xEF\xBF\xBD";
      } else if (needs_escape(character.code)) {
        write_code_point(character.code, out);
      } else {
        out.append(text, i, character.bytes);
      }
      i += std::max<std::size_t>(character.bytes, 1);
      continue;
    }
    if (c == '"' || c == '\\') {
      out += '\\';
      out += static_cast<char>(c);
    } else if (c == '\n') {
      out += "\\n";
    } else if (c < 0x20 || c == 0x7F) {
      write_code_point(c, out);
    } else {
      out += static_cast<char>(c);
    }
    ++i;
  }
  out += '"';
}

void write_member(std::string_view key, const Tree& value, int indent, std::string& out) {
  out.append(static_cast<std::size_t>(indent), ' ');
  write_entry(key, value, indent, out);
}

}  // namespace clutchward
