// The list of ways to reach a person, and nothing else.
#include "channel/catalogue.h"

#include <array>

namespace clutchward {
namespace {

constexpr std::array<MakeCarrier, 2> kKinds = {
    make_webhook,
    make_email,
};

}  // namespace

std::unique_ptr<Carrier> make_carrier(const ChannelSettings& settings, const CarrierParts& parts) {
  for (const MakeCarrier make : kKinds)
    if (auto carrier = make(settings, parts)) return carrier;
  return nullptr;
}

}  // namespace clutchward
