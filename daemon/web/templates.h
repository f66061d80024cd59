// The templates of the pages, each read once: reading one costs many times what filling it does.
// Thread of the server only.
#pragma once

#include <kainjow/mustache.hpp>
#include <string>
#include <string_view>

namespace clutchward {

// Fills the page that consists of these three; the shared parts that it names ({{>card}}) are put
// in. `body` is a constant of the program: where it stands in memory is what it is known by. A
// template that does not parse, or names a part that there is not, is our own bug.
std::string fill_page(std::string_view top, std::string_view body, std::string_view bottom,
                      const kainjow::mustache::data& data);

}  // namespace clutchward
