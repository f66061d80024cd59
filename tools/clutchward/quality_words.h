// Columns and words of the text of `clutchward quality`: from values to what stands in a cell.
#pragma once

#include <nlohmann/json.hpp>
#include <string>
#include <vector>

namespace clutchward {

using Row = std::vector<std::string>;

// Left-aligned but for the columns from `right_from` up to `right_to`.
std::string table(const std::vector<Row>& rows, std::size_t right_from, std::size_t right_to);
// Rounded to what can be read at a glance.
std::string decimal(double value);
std::string span_text(double seconds);
// "2026-03-01 08:00:00"; "-" where there is no time.
std::string clock(const nlohmann::ordered_json& at);
std::string word(const nlohmann::ordered_json& text);
std::string counted(std::uint64_t count, const char* one, const char* many);

}  // namespace clutchward
