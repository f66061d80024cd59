// The two bodies of a mail. The words are the message's own; this lays them out and adds only who
// sent them and the number by which a repeat is known. Colours are inline, since many mail programs
// drop style sheets; the small sheet serves those that turn dark.
#include <algorithm>

#include "base/text.h"
#include "channel/mail.h"

namespace clutchward {
namespace {

// Text that is fit for people: control characters but line ends gone, UTF-8 or escaped.
std::string clean(const std::string& text) {
  if (!valid_utf8(text)) {
    std::string lines;
    std::size_t from = 0;
    while (from <= text.size()) {
      const std::size_t end = std::min(text.find('\n', from), text.size());
      lines += printable(std::string_view(text).substr(from, end - from), text.size() * 4) + "\n";
      from = end + 1;
    }
    return lines;
  }
  std::string kept;
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (c == '\n' || (byte >= 0x20 && byte != 0x7f)) kept += c;
    if (c == '\t') kept += ' ';
  }
  return kept;
}

// The same in one line.
std::string clean_line(const std::string& text) {
  std::string line = clean(text);
  std::replace(line.begin(), line.end(), '\n', ' ');
  return line;
}

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::size_t from = 0;
  while (from < text.size()) {
    const std::size_t end = std::min(text.find('\n', from), text.size());
    lines.push_back(text.substr(from, end - from));
    while (!lines.back().empty() && lines.back().back() == ' ') lines.back().pop_back();
    from = end + 1;
  }
  while (!lines.empty() && lines.back().empty()) lines.pop_back();
  return lines;
}

// The message's lines without its first where that is the first line anyway.
std::vector<std::string> rest_of(const Notification& message) {
  std::vector<std::string> lines = lines_of(clean(message.message));
  if (!lines.empty() && lines.front() == message.first_line) lines.erase(lines.begin());
  while (!lines.empty() && lines.front().empty()) lines.erase(lines.begin());
  return lines;
}

// True for the blank between a number and its unit, where a line must not break.
bool joins_unit(std::string_view text, std::size_t at) {
  if (at == 0 || text[at] != ' ' || text[at - 1] < '0' || text[at - 1] > '9') return false;
  std::string_view unit = text.substr(at + 1);
  unit = unit.substr(0, unit.find_first_of(" ,.;:)"));
  return unit == "C" || unit == "F" || unit == "%" || unit == "°C" || unit == "°F";
}

std::string escaped(std::string_view text) {
  std::string html;
  for (std::size_t at = 0; at < text.size(); ++at) {
    switch (text[at]) {
      case '&':
        html += "&amp;";
        break;
      case '<':
        html += "&lt;";
        break;
      case '>':
        html += "&gt;";
        break;
      case '"':
        html += "&quot;";
        break;
      case '\'':
        html += "&#39;";
        break;
      case ' ':
        html += joins_unit(text, at) ? "&nbsp;" : " ";
        break;
      default:
        html += text[at];
    }
  }
  return html;
}

bool starts_link(std::string_view text) {
  return text.starts_with("https://") || text.starts_with("http://");
}

// Escaped text in which web addresses can be pressed.
std::string with_links(std::string_view text) {
  std::string html;
  while (!text.empty()) {
    std::size_t at = 0;
    while (at < text.size() && !starts_link(text.substr(at))) ++at;
    html += escaped(text.substr(0, at));
    text.remove_prefix(at);
    if (text.empty()) break;
    std::size_t end = std::min(text.find_first_of(" <>\"'"), text.size());
    while (end > 0 && std::string_view(".,;:!?)").find(text[end - 1]) != std::string_view::npos)
      --end;
    const std::string link = escaped(text.substr(0, end));
    html +=
        "<a href=\"" + link + "\" style=\"color:inherit;word-break:break-all\">" + link + "</a>";
    text.remove_prefix(end);
  }
  return html;
}

struct Tone {
  std::string_view bar;
  std::string_view word;
};

Tone tone_of(Urgency urgency) {
  switch (urgency) {
    case Urgency::high:
      return {"#b3261e", "Needs you now"};
    case Urgency::medium:
      return {"#b26a00", "Needs a look"};
    case Urgency::low:
      return {"#3d6b57", "For your next round"};
    case Urgency::quiet:
      break;
  }
  return {"#5a6b75", "For your information"};
}

// "Now: 39.8" is a label and what belongs to it; a sentence with a colon far in is not.
std::size_t label_end(const std::string& line) {
  constexpr std::size_t kLongestLabel = 22;
  const auto colon = line.find(": ");
  if (colon == std::string::npos || colon == 0 || colon > kLongestLabel) return 0;
  if (starts_link(std::string_view(line).substr(colon + 2))) return colon;
  return line.find(". ") < colon ? 0 : colon;
}

std::string paragraphs(const std::vector<std::string>& lines) {
  constexpr const char* kRow = "<div style=\"margin:0 0 6px\">";
  std::string html;
  for (const std::string& line : lines) {
    if (line.empty()) {
      html += "<div style=\"height:12px;line-height:12px\">&nbsp;</div>\n";
      continue;
    }
    if (line.starts_with("- ") || line.starts_with("* ")) {
      html +=
          "<div style=\"margin:0 0 6px;padding-left:18px;text-indent:-18px\">"
          "<span style=\"display:inline-block;width:18px;text-indent:0\">&bull;</span>" +
          with_links(std::string_view(line).substr(2)) + "</div>\n";
      continue;
    }
    if (line.back() == ':') {
      html += "<div style=\"margin:0 0 6px;font-weight:700\">" +
              escaped(std::string_view(line).substr(0, line.size() - 1)) + "</div>\n";
      continue;
    }
    html += kRow;
    if (const std::size_t end = label_end(line); end != 0) {
      html += "<span class=\"dim\" style=\"color:#5d5a52\">" + escaped(line.substr(0, end)) +
              "</span>&ensp;<b>" + with_links(std::string_view(line).substr(end + 2)) + "</b>";
    } else {
      html += with_links(line);
    }
    html += "</div>\n";
  }
  return html;
}

std::string footer(const Notification& message, const std::string& site) {
  return "Clutchward" + (site.empty() ? "" : " at " + site) + ". Message " + message.id +
         ": if it comes twice it is still one, sent again to be sure.";
}

// Each opens a page that says what it would do and does nothing yet.
std::vector<std::pair<std::string, std::string>> answers_of(const Notification& message) {
  const MessageLinks& links = message.links;
  if (!links.in_text || links.acknowledge.empty()) return {};
  return {{"Acknowledge", links.acknowledge},
          {"Snooze 30 min", links.snooze},
          {"Pass on", links.pass_on}};
}

// Beginning a line with "Or" says that the links come first where there are any.
std::string reply_hint(const Notification& message) {
  if (message.links.reply_to.empty()) return "";
  return std::string(answers_of(message).empty() ? "Answer" : "Or answer") +
         " this mail; its first line is done: ack, snooze 45, reset or status.";
}

std::string answer_buttons(const Notification& message) {
  std::string html;
  for (const auto& [word, link] : answers_of(message))
    html += "<a href=\"" + escaped(link) +
            "\" style=\"display:inline-block;margin:0 8px 10px 0;padding:12px 18px;"
            "border-radius:8px;background:#2b3a34;color:#ffffff;font-weight:700;"
            "text-decoration:none\">" +
            word + "</a>\n";
  return html.empty() ? html : "<tr><td style=\"padding:4px 18px 6px\">\n" + html + "</td></tr>\n";
}

}  // namespace

std::string mail_text(const Notification& message, const std::string& site) {
  std::string text = clean_line(message.first_line) + "\n\n";
  for (const std::string& line : rest_of(message)) text += line + "\n";
  const auto answers = answers_of(message);
  if (!answers.empty())
    text += "\nAnswer from your phone (each asks once more before it does it):\n";
  for (const auto& [word, link] : answers) text += word + ": " + link + "\n";
  if (const std::string hint = reply_hint(message); !hint.empty()) text += "\n" + hint + "\n";
  // "-- " is how mail programs know the small print.
  return text + "\n-- \n" + clean_line(footer(message, site)) + "\n";
}

std::string mail_html(const Notification& message, const std::string& site) {
  const Tone tone = tone_of(message.urgency);
  const std::string title = escaped(clean_line(message.first_line));
  std::string html;
  html +=
      "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
      "<meta name=\"color-scheme\" content=\"light dark\">\n"
      "<meta name=\"supported-color-schemes\" content=\"light dark\">\n"
      "<title>" +
      title +
      "</title>\n"
      "<style>\n"
      "@media (prefers-color-scheme: dark) {\n"
      "  .page { background: #171614 !important }\n"
      "  .card { background: #24221f !important; color: #f2efe8 !important }\n"
      "  .dim { color: #b5b0a4 !important }\n"
      "}\n"
      "</style>\n</head>\n";
  html +=
      "<body class=\"page\" style=\"margin:0;padding:0;background:#efece4\">\n"
      "<table role=\"presentation\" class=\"page\" width=\"100%\" cellpadding=\"0\" "
      "cellspacing=\"0\" style=\"background:#efece4\"><tr><td align=\"center\" "
      "style=\"padding:14px 10px\">\n"
      "<table role=\"presentation\" class=\"card\" width=\"100%\" cellpadding=\"0\" "
      "cellspacing=\"0\" style=\"max-width:560px;background:#ffffff;color:#22201c;"
      "border-radius:10px;font:17px/1.45 system-ui,-apple-system,'Segoe UI',Roboto,sans-serif;"
      "text-align:left\">\n";
  html += "<tr><td style=\"background:" + std::string(tone.bar) +
          ";color:#ffffff;border-radius:10px 10px 0 0;padding:9px 18px;font-size:15px\">"
          "<b>" +
          std::string(tone.word) + "</b></td></tr>\n";
  html +=
      "<tr><td style=\"padding:18px 18px 6px\"><h1 style=\"margin:0;font-size:22px;"
      "line-height:1.3;font-weight:700\">" +
      title + "</h1></td></tr>\n";
  html += answer_buttons(message);
  html +=
      "<tr><td style=\"padding:8px 18px 12px\">\n" + paragraphs(rest_of(message)) + "</td></tr>\n";
  if (const std::string hint = reply_hint(message); !hint.empty())
    html += "<tr><td style=\"padding:0 18px 12px\">" + escaped(hint) + "</td></tr>\n";
  html +=
      "<tr><td class=\"dim\" style=\"padding:0 18px 16px;font-size:13px;line-height:1.4;"
      "color:#5d5a52;word-break:break-word\">" +
      escaped(clean_line(footer(message, site))) +
      "</td></tr>\n</table>\n</td></tr></table>\n</body>\n</html>\n";
  return html;
}

}  // namespace clutchward
