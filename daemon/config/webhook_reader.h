// One webhook of a contact: YAML -> WebhookChannel.
#pragma once

#include "cabinet/settings.h"
#include "config/section.h"

namespace clutchward {

// The keys that a webhook may have.
const std::vector<std::string>& webhook_keys();

WebhookChannel read_webhook(const Section& section);

}  // namespace clutchward
