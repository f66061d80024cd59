// The list of ways to reach a person, and what is done with all of them.
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

std::vector<std::string> channel_faults(const Settings& settings) {
  const CarrierParts parts{settings.site, settings.smtp, {}, [] { return Wall{}; }};
  std::vector<std::string> faults;
  for (const auto& [contact, channels] : settings.contacts)
    for (std::size_t index = 0; index < channels.size(); ++index) {
      if (channels[index].ring) continue;
      const auto carrier = make_carrier(channels[index], parts);
      const std::string fault = carrier == nullptr ? "no kind of channel" : carrier->fault();
      if (!fault.empty())
        faults.push_back("contacts." + contact + "[" + std::to_string(index) + "]: " + fault);
    }
  return faults;
}

}  // namespace clutchward
