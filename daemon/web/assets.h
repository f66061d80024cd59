// The files that pages need beside their text: style, scripts, icon. They are constants of the
// program and the same for everybody, so they may be packed, and kept by whoever has them.
#pragma once

#include <string>
#include <string_view>

namespace clutchward {

// "/style.css" -> "/style.css?v=5d1c09a2": by that address a browser may keep it for ever, since
// another text has another one. `path` must be that of a file.
std::string asset_address(std::string_view path);

// Whether "gzip" stands in this Accept-Encoding and is not refused by a weight of 0 (RFC 9110,
// section 12.5.3, from memory).
bool takes_gzip(std::string_view accept_encoding);

// As gzip (RFC 1952). For constants only: what is packed together with somebody's secret and
// somebody else's words gives the secret away by its length.
std::string gzipped(std::string_view text);

}  // namespace clutchward
