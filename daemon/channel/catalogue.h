// The list of ways to reach a person. A new kind of channel is one source file with a make function
// and one line in the list in catalogue.cpp.
#pragma once

#include <memory>
#include <vector>

#include "channel/carrier.h"

namespace clutchward {

// Each kind's make function: a carrier if the settings are of its kind, else nothing.
using MakeCarrier = std::unique_ptr<Carrier> (*)(const ChannelSettings&, const CarrierParts&);
std::unique_ptr<Carrier> make_webhook(const ChannelSettings& settings, const CarrierParts& parts);
std::unique_ptr<Carrier> make_email(const ChannelSettings& settings, const CarrierParts& parts);

// The carrier for these settings; nothing where no kind knows them.
std::unique_ptr<Carrier> make_carrier(const ChannelSettings& settings, const CarrierParts& parts);

}  // namespace clutchward
