// HTML to text with libxml2's parser, which takes whatever mail programs write. Nothing is fetched.
#include <libxml/HTMLparser.h>

#include <initializer_list>
#include <memory>
#include <string_view>

#include "channel/mail_read.h"

namespace clutchward {
namespace {

struct FreeDocument {
  void operator()(xmlDoc* document) const { xmlFreeDoc(document); }
};

bool is_one_of(const xmlNode* node, std::initializer_list<std::string_view> names) {
  const std::string_view name = reinterpret_cast<const char*>(node->name);
  for (const std::string_view each : names)
    if (name == each) return true;
  return false;
}

void add_text(const xmlNode* node, std::string& text) {
  const std::string_view words =
      node->content == nullptr ? "" : reinterpret_cast<const char*>(node->content);
  for (const char c : words) {
    const bool blank = c == ' ' || c == '\n' || c == '\r' || c == '\t';
    if (!blank) text += c;
    if (blank && !text.empty() && text.back() != ' ' && text.back() != '\n') text += ' ';
  }
}

void end_line(std::string& text) {
  if (!text.empty() && text.back() != '\n') text += '\n';
}

// Walked without recursion: how deep a stranger nests is his affair.
void walk(xmlNode* root, std::string& text) {
  const auto is_block = [](const xmlNode* node) {
    return is_one_of(node, {"p", "div", "li", "ul", "ol", "table", "tr", "h1", "h2", "h3", "h4",
                            "hr", "pre", "body", "blockquote", "section"});
  };
  xmlNode* node = root;
  while (node != nullptr) {
    bool inside = false;
    if (node->type == XML_TEXT_NODE) add_text(node, text);
    if (node->type == XML_ELEMENT_NODE) {
      if (is_one_of(node, {"br"})) text += '\n';
      if (is_block(node)) end_line(text);
      inside = !is_one_of(node, {"script", "style", "head", "title", "blockquote", "template"});
    }
    if (inside && node->children != nullptr) {
      node = node->children;
      continue;
    }
    while (node != root && node->next == nullptr) {
      node = node->parent;
      if (node->type == XML_ELEMENT_NODE && is_block(node)) end_line(text);
      if (node == root) return;
    }
    if (node == root) return;
    node = node->next;
  }
}

}  // namespace

std::string text_of_html(const std::string& html) {
  constexpr int kOptions = HTML_PARSE_RECOVER | HTML_PARSE_NOERROR | HTML_PARSE_NOWARNING |
                           HTML_PARSE_NONET | HTML_PARSE_COMPACT;
  const std::unique_ptr<xmlDoc, FreeDocument> document(
      htmlReadMemory(html.data(), static_cast<int>(html.size()), nullptr, "UTF-8", kOptions));
  std::string text;
  if (document == nullptr) return text;
  if (xmlNode* root = xmlDocGetRootElement(document.get())) walk(root, text);
  return text;
}

}  // namespace clutchward
