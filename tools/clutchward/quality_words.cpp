// Columns and words of the text of `clutchward quality`.
#include "quality_words.h"

#include <algorithm>
#include <cmath>

#include "base/text.h"
#include "base/time.h"
#include "screen.h"

namespace clutchward {

// Left-aligned but for the columns from `right_from` up to `right_to`.
std::string table(const std::vector<Row>& rows, std::size_t right_from, std::size_t right_to) {
  std::vector<std::size_t> widths;
  for (const Row& row : rows)
    for (std::size_t i = 0; i < row.size(); ++i) {
      if (widths.size() <= i) widths.push_back(0);
      widths[i] = std::max(widths[i], width_of(row[i]));
    }
  std::string out;
  for (const Row& row : rows) {
    std::string line = " ";
    for (std::size_t i = 0; i < row.size(); ++i) {
      const std::string pad(widths[i] - width_of(row[i]), ' ');
      const bool right = i >= right_from && i < right_to;
      line += " " + (right ? pad + row[i] : row[i] + pad) + " ";
    }
    line.erase(line.find_last_not_of(' ') + 1);
    out += line + "\n";
  }
  return out;
}

std::string decimal(double value) {
  const int places = std::abs(value) >= 100 ? 0 : std::abs(value) >= 0.995 ? 1 : 2;
  const double scale = std::pow(10.0, places);
  std::string text = milli_exact(std::llround(std::round(value * scale) / scale * 1000));
  return text;
}

std::string span_text(double seconds) {
  const auto whole = std::llround(seconds);
  return to_text(std::chrono::seconds{whole >= 86'400 ? whole / 60 * 60 : whole});
}

std::string clock(const nlohmann::ordered_json& at) {
  if (!at.is_string()) return "-";
  std::string text = at.get<std::string>().substr(0, 19);
  if (text.size() > 10) text[10] = ' ';
  return text;
}

std::string word(const nlohmann::ordered_json& text) {
  return text.is_string() ? tame(text.get<std::string>()) : std::string("-");
}

std::string counted(std::uint64_t count, const char* one, const char* many) {
  return std::to_string(count) + " " + (count == 1 ? one : many);
}

}  // namespace clutchward
