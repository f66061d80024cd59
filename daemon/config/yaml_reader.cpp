// The strict YAML layer: the library's event parser drives a builder of our own, because its node
// tree forgets places, takes the first of two equal keys in silence and ends a document early where
// a line stands too far left. A tree of our own also leaves no library memory behind.
#include "config/yaml_reader.h"

#include <yaml-cpp/eventhandler.h>
#include <yaml-cpp/exceptions.h>
#include <yaml-cpp/parser.h>

#include <exception>
#include <map>
#include <sstream>
#include <utility>

#include "base/limits.h"
#include "base/text.h"

namespace clutchward {

namespace {

// Thrown by the builder out of the library's parser, caught in read_yaml: nothing more to read.
struct Stop {};

Place place_of(const YAML::Mark& mark) { return {mark.line + 1, mark.column + 1}; }

class Builder : public YAML::EventHandler {
 public:
  Builder(std::string_view text, Faults& faults) : text_(text), faults_(faults) {}

  YamlNode take_root() { return std::move(root_); }

  void OnDocumentStart(const YAML::Mark& mark) override {
    if (++documents_ == 1) return;
    const bool marked =
        mark.pos >= 0 &&
        text_.substr(std::min<std::size_t>(mark.pos, text_.size())).starts_with("---");
    stop(place_of(mark), marked ? "a second document begins here; expected one document"
                                : "what stands above ends here, because this line does not belong "
                                  "to it; expected it to be indented like the lines before it");
  }
  void OnDocumentEnd() override {}

  void OnNull(const YAML::Mark& mark, YAML::anchor_t anchor) override {
    refuse_anchor(place_of(mark), anchor);
    YamlNode node;
    node.place = place_of(mark);
    put(std::move(node));
  }

  void OnAlias(const YAML::Mark& mark, YAML::anchor_t) override {
    faults_.add(place_of(mark), "an alias (*) stands here; expected the value itself");
    YamlNode node;
    node.kind = YamlNode::Kind::spoilt;
    node.place = place_of(mark);
    put(std::move(node));
  }

  void OnScalar(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                const std::string& value) override {
    refuse_anchor(place_of(mark), anchor);
    refuse_tag(place_of(mark), tag);
    refuse_open_quote(mark, tag);
    Frame* frame = frames_.empty() ? nullptr : &frames_.back();
    if (frame != nullptr && frame->node.kind == YamlNode::Kind::map && !frame->key_set) {
      set_key(*frame, value, place_of(mark));
      return;
    }
    YamlNode node;
    node.kind = YamlNode::Kind::word;
    node.place = place_of(mark);
    node.quoted = tag == "!";
    node.text = value;
    put(std::move(node));
  }

  void OnSequenceStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                       YAML::EmitterStyle::value) override {
    open(YamlNode::Kind::list, place_of(mark), tag, anchor);
  }
  void OnSequenceEnd() override { close(); }
  void OnMapStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                  YAML::EmitterStyle::value) override {
    open(YamlNode::Kind::map, place_of(mark), tag, anchor);
  }
  void OnMapEnd() override { close(); }

 private:
  struct Frame {
    YamlNode node;
    bool key_set = false;
    std::string key;
    Place key_place;
    std::map<std::string, int, std::less<>> lines;  // of the keys so far
    bool twice = false;                             // the present key stood before
  };

  [[noreturn]] void stop(Place place, std::string what) {
    faults_.add(place, std::move(what));
    throw Stop{};
  }

  void refuse_anchor(Place place, YAML::anchor_t anchor) {
    if (anchor == 0) return;
    faults_.add(place, "an anchor (&) stands here; expected a plain value");
  }

  // "?" is what the library says of plain values, "!" of quoted ones.
  void refuse_tag(Place place, const std::string& tag) {
    if (tag.empty() || tag == "?" || tag == "!") return;
    faults_.add(place, "a tag (" + printable(tag, 60) + ") stands here; expected a plain value");
  }

  // The library takes the end of the file for the end of a quoted text.
  void refuse_open_quote(const YAML::Mark& mark, const std::string& tag) {
    const std::size_t start = mark.pos < 0 ? text_.size() : static_cast<std::size_t>(mark.pos);
    if (tag != "!" || start >= text_.size()) return;
    const char quote = text_[start];
    if (quote != '"' && quote != '\'') return;
    for (std::size_t at = start + 1; at < text_.size(); ++at) {
      const bool doubled = quote == '\'' && text_.substr(at, 2) == "''";
      if (doubled || (quote == '"' && text_[at] == '\\')) {
        ++at;
      } else if (text_[at] == quote) {
        return;
      }
    }
    stop(place_of(mark), "a text in quotes begins here and does not end; expected " +
                             std::string(quote == '"' ? "\"" : "'") + " behind it");
  }

  std::string path() const {
    std::string path;
    for (const Frame& frame : frames_) {
      if (frame.node.kind == YamlNode::Kind::list) {
        path += "[" + std::to_string(frame.node.members.size() + 1) + "]";
      } else if (frame.key_set) {
        path += (path.empty() ? "" : ".") + printable(frame.key, 60);
      }
    }
    return path;
  }

  void set_key(Frame& frame, const std::string& key, Place place) {
    const auto [earlier, fresh] = frame.lines.emplace(key, place.line);
    if (!fresh) {
      const std::string where = path();
      faults_.add(place, "duplicate key \"" + printable(key, 60) + "\"" +
                             (where.empty() ? "" : " in " + where) + " (first at line " +
                             std::to_string(earlier->second) + ")");
    }
    frame.twice = !fresh;
    frame.key = key;
    frame.key_place = place;
    frame.key_set = true;
  }

  void count(Place place) {
    if (++nodes_ > limits::kYamlNodes) {
      stop(place, "more than " + std::to_string(limits::kYamlNodes) +
                      " values; no configuration needs so many");
    }
  }

  void open(YamlNode::Kind kind, Place place, const std::string& tag, YAML::anchor_t anchor) {
    refuse_anchor(place, anchor);
    refuse_tag(place, tag);
    if (!frames_.empty()) refuse_complex_key(frames_.back(), place);
    if (frames_.size() >= limits::kYamlDepth) {
      stop(place, "nested deeper than " + std::to_string(limits::kYamlDepth) +
                      " levels; no configuration needs so many");
    }
    frames_.emplace_back();
    frames_.back().node.kind = kind;
    frames_.back().node.place = place;
  }

  void refuse_complex_key(const Frame& frame, Place place) {
    if (frame.node.kind == YamlNode::Kind::map && !frame.key_set) {
      stop(place, "a key is missing here; expected a plain word and a colon");
    }
  }

  void close() {
    YamlNode node = std::move(frames_.back().node);
    frames_.pop_back();
    put(std::move(node));
  }

  void put(YamlNode node) {
    count(node.place);
    if (frames_.empty()) {
      root_ = std::move(node);
      return;
    }
    Frame& frame = frames_.back();
    if (frame.node.kind == YamlNode::Kind::list) {
      frame.node.members.push_back({"", node.place, std::move(node)});
      return;
    }
    refuse_complex_key(frame, node.place);
    frame.key_set = false;
    // The library places a missing value at whatever comes next, maybe lines below.
    if (node.kind == YamlNode::Kind::nothing) node.place = frame.key_place;
    if (frame.twice) return;
    frame.node.members.push_back({std::move(frame.key), frame.key_place, std::move(node)});
  }

  std::string_view text_;
  Faults& faults_;
  std::vector<Frame> frames_;
  YamlNode root_;
  std::size_t nodes_ = 0;
  int documents_ = 0;
};

// How many bytes the UTF-8 character at `at` takes, 0 where there is none (RFC 3629).
std::size_t character_bytes(std::string_view text, std::size_t at) {
  const auto lead = static_cast<unsigned char>(text[at]);
  const std::size_t length = lead < 0x80 ? 1 : lead < 0xE0 ? 2 : lead < 0xF0 ? 3 : 4;
  if (at + length > text.size()) return 0;
  return valid_utf8(text.substr(at, length)) ? length : 0;
}

// What no part of a configuration may hold, whatever the YAML says: bytes that are not UTF-8,
// control characters, tabs where indentation is meant. Stops at the first.
bool plain_text(std::string_view text, Faults& faults) {
  Place place;
  bool indent = true;
  std::size_t line_start = 0;
  for (std::size_t i = 0; i < text.size();) {
    const auto c = static_cast<unsigned char>(text[i]);
    place.column = static_cast<int>(i - line_start) + 1;
    const std::size_t length = character_bytes(text, i);
    if (length == 0) {
      faults.add(place,
                 "a byte stands here that is not UTF-8; expected the file to be saved as UTF-8");
      return false;
    }
    if (c == '\t' && indent) {
      faults.add(place, "a tab stands in the indentation; expected blanks");
      return false;
    }
    const bool line_end = c == '\n' || (c == '\r' && text.substr(i, 2) == "\r\n");
    if ((c < 0x20 && c != '\t' && !line_end) || c == 0x7F) {
      faults.add(place, "the control character " + printable(text.substr(i, 1)) +
                            " stands here; expected plain text in UTF-8");
      return false;
    }
    i += length;
    if (c == '\n') {
      ++place.line;
      line_start = i;
      indent = true;
    } else if (c != ' ') {
      indent = false;
    }
  }
  return true;
}

}  // namespace

std::optional<YamlNode> read_yaml(std::string_view text, Faults& faults) {
  if (text.size() > limits::kConfigBytes) {
    faults.add({}, "the file has " + std::to_string(text.size()) + " bytes; expected at most " +
                       std::to_string(limits::kConfigBytes));
    return std::nullopt;
  }
  constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";
  if (text.starts_with(kByteOrderMark)) text.remove_prefix(kByteOrderMark.size());
  if (!plain_text(text, faults)) return std::nullopt;
  Builder builder(text, faults);
  try {
    std::istringstream stream{std::string(text)};
    YAML::Parser parser(stream);
    parser.HandleNextDocument(builder);
    // Whatever is left begins a second document, and the builder refuses that.
    parser.HandleNextDocument(builder);
  } catch (const Stop&) {
    return std::nullopt;
  } catch (const YAML::Exception& exception) {
    faults.add(place_of(exception.mark), "not readable as YAML: " + printable(exception.msg));
    return std::nullopt;
  } catch (const std::exception& exception) {
    faults.add({}, std::string("not readable as YAML: ") + printable(exception.what()));
    return std::nullopt;
  }
  return builder.take_root();
}

}  // namespace clutchward
