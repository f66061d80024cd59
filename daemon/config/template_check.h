// Message templates of webhooks: Mustache, with known names only. Renders nothing.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace clutchward {

// The names that a webhook's `body` may use.
const std::vector<std::string>& template_names();

// Why a template cannot stand ("" where it can): a name that nobody fills, a section that is not
// closed, partials, other delimiters, more than 16 sections within each other, more than 16 KiB.
// `unknown` is set to a name that nobody fills, so that the caller can look for the nearest known
// one.
std::string template_fault(const std::string& text, std::string& unknown);

}  // namespace clutchward
