// Names of deeds, as commands carry them.
#include "engine/command.h"

namespace clutchward {

std::string_view name_of(Deed deed) { return kDeedNames[static_cast<std::size_t>(deed)]; }

}  // namespace clutchward
