// The small reader: recursive descent over lines that the emitter wrote. At the first byte that the
// emitter would not have written it gives up and leaves the text to the library.
#include "store/yaml_read.h"

#include "store/yaml_write.h"

namespace clutchward {
namespace {

class OwnReader {
 public:
  explicit OwnReader(std::string_view text) : text_(text) {}

  std::optional<Tree> read() {
    while (peek() == '#') skip_line();
    Tree tree = Tree::map();
    if (at_ != text_.size() && !read_map(0, 0, tree)) return std::nullopt;
    if (at_ != text_.size()) return std::nullopt;
    return tree;
  }

 private:
  char peek(std::size_t ahead = 0) const {
    return at_ + ahead < text_.size() ? text_[at_ + ahead] : '\0';
  }

  bool take(std::string_view expected) {
    if (text_.substr(at_, expected.size()) != expected) return false;
    at_ += expected.size();
    return true;
  }

  void skip_line() {
    const std::size_t end = text_.find('\n', at_);
    at_ = end == std::string_view::npos ? text_.size() : end + 1;
  }

  // Goes behind the blanks of a line that stands at exactly `indent`.
  bool enter_line(int indent) {
    std::size_t blanks = 0;
    while (peek(blanks) == ' ') ++blanks;
    if (blanks != static_cast<std::size_t>(indent) || at_ + blanks >= text_.size()) return false;
    at_ += blanks;
    return true;
  }

  // A block whose first line's blanks have been passed already.
  bool read_block(int indent, int depth, Tree& tree) {
    if (depth > kTreeDepth) return false;
    if (peek() != '-') return read_map(indent, depth, tree);
    tree.kind = Tree::Kind::list;
    do {
      if (!take("- ")) return false;
      tree.members.emplace_back(std::string(), Tree());
      if (!read_item(indent + 2, depth + 1, tree.members.back().second)) return false;
    } while (enter_line(indent));
    return true;
  }

  bool read_map(int indent, int depth, Tree& tree) {
    tree.kind = Tree::Kind::map;
    do {
      tree.members.emplace_back(std::string(), Tree());
      auto& [key, value] = tree.members.back();
      if (!read_key(key) || !read_value(indent, depth, value)) return false;
    } while (enter_line(indent));
    return true;
  }

  bool read_item(int indent, int depth, Tree& item) {
    if (peek() != '"') return read_empty(item) || read_block(indent, depth, item);
    const std::size_t start = at_;
    if (read_quoted(item.text) && take("\n")) return true;
    at_ = start;  // the first key of a map, then
    item.text.clear();
    return read_block(indent, depth, item);
  }

  // What follows "key:".
  bool read_value(int indent, int depth, Tree& value) {
    if (take(" ")) return read_empty(value) || (read_quoted(value.text) && take("\n"));
    return take("\n") && enter_line(indent + 2) && read_block(indent + 2, depth + 1, value);
  }

  bool read_empty(Tree& value) {
    if (take("[]\n"))
      value.kind = Tree::Kind::list;
    else if (take("{}\n"))
      value.kind = Tree::Kind::map;
    else
      return false;
    return true;
  }

  bool read_key(std::string& key) {
    if (peek() == '"') return read_quoted(key) && take(":");
    const std::size_t start = at_;
    const auto is_word = [](char c) {
      return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '_' || c == '-';
    };
    while (is_word(peek())) ++at_;
    key.assign(text_.substr(start, at_ - start));
    return !key.empty() && key[0] >= 'a' && take(":");
  }

  bool read_quoted(std::string& out) {
    if (!take("\"")) return false;
    while (true) {
      const std::size_t stop = text_.find_first_of("\"\\\n", at_);
      if (stop == std::string_view::npos || text_[stop] == '\n') return false;
      out += text_.substr(at_, stop - at_);
      at_ = stop + 1;
      if (text_[stop] == '"') return true;
      if (!read_escape(out)) return false;
    }
  }

  bool read_escape(std::string& out) {
    const char c = peek();
    ++at_;
    if (c == '"' || c == '\\') {
      out += c;
      return true;
    }
    if (c == 'n') {
      out += '\n';
      return true;
    }
    return c == 'u' && read_code_point(out);
  }

  bool read_code_point(std::string& out) {
    unsigned code_point = 0;
    for (int i = 0; i < 4; ++i, ++at_) {
      const char c = peek();
      const bool digit = c >= '0' && c <= '9';
      if (!digit && !(c >= 'A' && c <= 'F')) return false;
      code_point = code_point * 16 + static_cast<unsigned>(digit ? c - '0' : c - 'A' + 10);
    }
    if (code_point < 0x80) {
      out += static_cast<char>(code_point);
    } else if (code_point < 0x800) {
      out += static_cast<char>(0xC0 | (code_point >> 6));
      out += static_cast<char>(0x80 | (code_point & 0x3F));
    } else if (code_point < 0xD800 || code_point > 0xDFFF) {
      out += static_cast<char>(0xE0 | (code_point >> 12));
      out += static_cast<char>(0x80 | ((code_point >> 6) & 0x3F));
      out += static_cast<char>(0x80 | (code_point & 0x3F));
    } else {
      return false;  // half a character
    }
    return true;
  }

  std::string_view text_;
  std::size_t at_ = 0;
};

}  // namespace

std::optional<Tree> read_own_yaml(std::string_view text) { return OwnReader(text).read(); }

Result<Tree> read_yaml(std::string_view text) {
  if (auto tree = read_own_yaml(text)) return std::move(*tree);
  return read_any_yaml(text);
}

}  // namespace clutchward
