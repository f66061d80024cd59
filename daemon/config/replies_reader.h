// `replies`: YAML -> RepliesSettings. Connects to nothing.
#pragma once

#include <optional>

#include "cabinet/settings.h"
#include "config/section.h"

namespace clutchward {

// `smtp` as read before: without it nobody can be told that a reply was carried out.
std::optional<RepliesSettings> read_replies(const Field& field, const SmtpSettings& smtp);

}  // namespace clutchward
