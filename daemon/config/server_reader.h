// The broker and the mail server: YAML -> BrokerSettings, SmtpSettings. Connects to nothing.
#pragma once

#include "cabinet/settings.h"
#include "config/section.h"

namespace clutchward {

BrokerSettings read_broker(const Field& field);
SmtpSettings read_smtp(const Field& field);

}  // namespace clutchward
