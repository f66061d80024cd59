// The list of ways to reach a person. A new kind of channel is one source file with a make function
// and one line in the list in catalogue.cpp.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "channel/carrier.h"

namespace clutchward {

// Each kind's make function: a carrier if the settings are of its kind, else nothing.
using MakeCarrier = std::unique_ptr<Carrier> (*)(const ChannelSettings&, const CarrierParts&);
std::unique_ptr<Carrier> make_webhook(const ChannelSettings& settings, const CarrierParts& parts);
std::unique_ptr<Carrier> make_email(const ChannelSettings& settings, const CarrierParts& parts);

// The carrier for these settings; nothing where no kind knows them.
std::unique_ptr<Carrier> make_carrier(const ChannelSettings& settings, const CarrierParts& parts);

// What is at fault with the channels of a configuration that its text alone does not show, one
// sentence each, opened by where ("contacts.mara[0]: ..."). Reads the files that they name; for the
// start and for checking a configuration, not for the loop.
std::vector<std::string> channel_faults(const Settings& settings);

}  // namespace clutchward
