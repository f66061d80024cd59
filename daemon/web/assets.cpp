// Which files there are, their addresses and their packed form.
#include "web/assets.h"

#include <zlib.h>

#include <algorithm>
#include <array>

#include "access/random.h"
#include "base/check.h"
#include "web/handlers.h"
#include "web/page.h"

namespace clutchward {
namespace {

struct Asset {
  std::string_view path;
  std::string_view type;  // of a literal
  std::string_view text;
  std::string version;
  std::string packed;  // "" until somebody asks for it
};

constexpr std::string_view kStyleType = "text/css; charset=utf-8";
constexpr std::string_view kScriptType = "text/javascript; charset=utf-8";

// Tells two releases apart, no more.
std::string version_of(std::string_view text) { return to_base64url(sha256(text)).substr(0, 8); }

Asset asset(std::string_view path, std::string_view type, std::string_view text) {
  return {path, type, text, version_of(text), {}};
}

// Constants of the program in another form, made when they are first asked for.
Asset* asset_at(std::string_view path) {
  static std::array<Asset, 6> all = {asset("/style.css", kStyleType, kPageStyle),
                                     asset("/page.js", kScriptType, kPageScript),
                                     asset("/icon.svg", "image/svg+xml", kPageIcon),
                                     asset("/curve.js", kScriptType, kCurveScript),
                                     asset("/uplot-1.6.32.js", kScriptType, kPlotScript),
                                     asset("/uplot-1.6.32.css", kStyleType, kPlotStyle)};
  const auto found =
      std::find_if(all.begin(), all.end(), [&](const Asset& each) { return each.path == path; });
  return found == all.end() ? nullptr : &*found;
}

// ";q=0", "; q=0.000": by no means.
bool weighs_nothing(std::string_view parameters) {
  const std::size_t at = parameters.find("q=");
  if (at == std::string_view::npos) return false;
  const std::string_view weight = trimmed(parameters.substr(at + 2));
  return !weight.empty() && weight.find_first_not_of("0.") == std::string_view::npos;
}

}  // namespace

std::string asset_address(std::string_view path) {
  const Asset* found = asset_at(path);
  CHECK(found != nullptr);
  return std::string(path) + "?v=" + found->version;
}

bool takes_gzip(std::string_view accept_encoding) {
  while (!accept_encoding.empty()) {
    const std::size_t end = std::min(accept_encoding.find(','), accept_encoding.size());
    const std::string_view each = accept_encoding.substr(0, end);
    accept_encoding.remove_prefix(std::min(end + 1, accept_encoding.size()));
    const std::size_t name = std::min(each.find(';'), each.size());
    if (trimmed(each.substr(0, name)) == "gzip") return !weighs_nothing(each.substr(name));
  }
  return false;
}

std::string gzipped(std::string_view text) {
  constexpr int kGzip = 15 + 16;  // the largest window, and gzip's own frame (zlib.h)
  constexpr int kMemory = 8;
  z_stream stream{};
  CHECK(deflateInit2(&stream, Z_BEST_COMPRESSION, Z_DEFLATED, kGzip, kMemory, Z_DEFAULT_STRATEGY) ==
        Z_OK);
  std::string out(deflateBound(&stream, text.size()), '\0');
  stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(text.data()));
  stream.avail_in = static_cast<uInt>(text.size());
  stream.next_out = reinterpret_cast<Bytef*>(out.data());
  stream.avail_out = static_cast<uInt>(out.size());
  CHECK(deflate(&stream, Z_FINISH) == Z_STREAM_END);
  out.resize(stream.total_out);
  out.shrink_to_fit();
  deflateEnd(&stream);
  return out;
}

void get_asset(Site&, const Request& request, const Visitor&, const Respond& respond) {
  Asset* found = asset_at(request.path);
  CHECK(found != nullptr);  // the table of routes names what there is
  Answer answer{200, found->type, {}, "", {{"Vary", "Accept-Encoding"}}, {}};
  if (takes_gzip(request.header("Accept-Encoding"))) {
    if (found->packed.empty()) found->packed = gzipped(found->text);
    answer.body = found->packed;
    answer.headers.emplace_back("Content-Encoding", "gzip");
  } else {
    answer.body = found->text;
  }
  // For a year where the address says which text is meant; the library's name says it, too.
  const bool named =
      request.parameter("v") == found->version || request.path.starts_with("/uplot-");
  if (named) answer.headers.emplace_back("Cache-Control", "max-age=31536000, immutable");
  respond(std::move(answer));
}

}  // namespace clutchward
