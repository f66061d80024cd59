// The YAML library under strict rules, by its event interface: the Tree is built as the events
// come, and what a person may have meant otherwise than it reads is refused. The library's own tree
// is never built. Its exceptions end here.
#include <yaml-cpp/eventhandler.h>
#include <yaml-cpp/exceptions.h>
#include <yaml-cpp/mark.h>
#include <yaml-cpp/parser.h>

#include <set>
#include <sstream>

#include "base/limits.h"
#include "base/text.h"
#include "store/yaml_read.h"
#include "store/yaml_write.h"

namespace clutchward {
namespace {

[[noreturn]] void refuse(const YAML::Mark& mark, const std::string& why) {
  throw YAML::ParserException(mark, why);
}

class TreeBuilder : public YAML::EventHandler {
 public:
  Tree take() { return std::move(root_); }

  void OnDocumentStart(const YAML::Mark& mark) override {
    if (++documents_ > 1) refuse(mark, "a second document begins here, expected one");
  }
  void OnDocumentEnd() override {}
  void OnNull(const YAML::Mark& mark, YAML::anchor_t anchor) override {
    refuse_anchor(mark, anchor);
    refuse(mark, "nothing stands here, expected a text (\"\" for an empty one), a list or a map");
  }
  void OnAlias(const YAML::Mark& mark, YAML::anchor_t) override {
    refuse(mark, "an alias stands here, expected the value itself");
  }
  void OnScalar(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                const std::string& value) override {
    begin_node(mark, tag, anchor);
    if (Open* map = awaiting_key()) {
      if (!map->keys.insert(value).second)
        refuse(mark, "the key \"" + printable(value) + "\" stands here a second time");
      map->key = value;
      map->has_key = true;
      return;
    }
    place(Tree(value));
  }
  void OnSequenceStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                       YAML::EmitterStyle::value) override {
    open(mark, tag, anchor, Tree::Kind::list);
  }
  void OnSequenceEnd() override { close(); }
  void OnMapStart(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
                  YAML::EmitterStyle::value) override {
    open(mark, tag, anchor, Tree::Kind::map);
  }
  void OnMapEnd() override { close(); }

 private:
  struct Open {
    Tree tree;
    std::string key;
    bool has_key = false;
    std::set<std::string> keys;
  };

  static void refuse_anchor(const YAML::Mark& mark, YAML::anchor_t anchor) {
    if (anchor != 0) refuse(mark, "an anchor stands here, expected a plain value");
  }

  Open* awaiting_key() {
    if (open_.empty() || open_.back().tree.kind != Tree::Kind::map) return nullptr;
    return open_.back().has_key ? nullptr : &open_.back();
  }

  void begin_node(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor) {
    refuse_anchor(mark, anchor);
    if (!tag.empty() && tag != "?" && tag != "!")
      refuse(mark, "the tag " + printable(tag) + " stands here, expected a plain value");
    if (++nodes_ > limits::kStateNodes) refuse(mark, "more values than the limit allows");
  }

  void open(const YAML::Mark& mark, const std::string& tag, YAML::anchor_t anchor,
            Tree::Kind kind) {
    begin_node(mark, tag, anchor);
    if (awaiting_key() != nullptr) refuse(mark, "a key that is no text, expected a text");
    if (open_.size() > static_cast<std::size_t>(kTreeDepth))
      refuse(mark, "more levels than the " + std::to_string(kTreeDepth) + " allowed");
    open_.emplace_back();
    open_.back().tree.kind = kind;
  }

  void close() {
    Tree tree = std::move(open_.back().tree);
    open_.pop_back();
    place(std::move(tree));
  }

  void place(Tree tree) {
    if (open_.empty()) {
      root_ = std::move(tree);
      return;
    }
    Open& parent = open_.back();
    parent.tree.members.emplace_back(std::move(parent.key), std::move(tree));
    parent.key.clear();
    parent.has_key = false;
  }

  Tree root_;
  std::vector<Open> open_;
  std::size_t nodes_ = 0;
  int documents_ = 0;
};

std::string position(const YAML::Mark& mark) {
  return std::to_string(mark.line + 1) + ":" + std::to_string(mark.column + 1) + ": ";
}

}  // namespace

Result<Tree> read_any_yaml(std::string_view text) {
  // The library drops what it cannot decode, and takes a NUL for the end.
  if (!valid_utf8(text)) return Refusal{"1:1: bytes that are not UTF-8"};
  if (text.find('\0') != std::string_view::npos) return Refusal{"1:1: a NUL byte in the text"};
  try {
    std::istringstream stream{std::string(text)};
    YAML::Parser parser(stream);
    TreeBuilder builder;
    bool any = parser.HandleNextDocument(builder);
    // A line that stands too far left ends the document early without an error: the rest shows as
    // a second one.
    if (any) parser.HandleNextDocument(builder);
    Tree tree = builder.take();
    if (!any || tree.kind != Tree::Kind::map) return Refusal{"1:1: no map, expected one"};
    return tree;
  } catch (const YAML::Exception& error) {
    return Refusal{position(error.mark) + error.msg};
  } catch (const std::exception& error) {
    return Refusal{std::string("1:1: ") + error.what()};
  }
}

}  // namespace clutchward
