// Style, scripts and icon: packed for whoever asks for it, kept where their address names their
// text.
#include "web/assets.h"

#include <gmock/gmock.h>
#include <zlib.h>

#include <set>

#include "fake_site.h"
#include "raw_client.h"
#include "web/page.h"

namespace clutchward {
namespace {

using testing::HasSubstr;
using testing::Not;

// By zlib's own way back, which knows nothing of ours.
std::string unpacked(const std::string& packed, std::size_t size) {
  z_stream stream{};
  EXPECT_EQ(inflateInit2(&stream, 15 + 16), Z_OK);
  std::string out(size + 1, '\0');
  stream.next_in = reinterpret_cast<Bytef*>(const_cast<char*>(packed.data()));
  stream.avail_in = static_cast<uInt>(packed.size());
  stream.next_out = reinterpret_cast<Bytef*>(out.data());
  stream.avail_out = static_cast<uInt>(out.size());
  EXPECT_EQ(inflate(&stream, Z_FINISH), Z_STREAM_END);
  out.resize(stream.total_out);
  inflateEnd(&stream);
  return out;
}

TEST(Assets, GzipIsTakenWhereItIsNamed) {
  for (const char* yes : {"gzip", "gzip, deflate, br", "br, gzip;q=0.5", "br,gzip", "gzip;q=1.0",
                          "deflate , gzip ; q=0.001"})
    EXPECT_TRUE(takes_gzip(yes)) << yes;
  for (const char* no : {"", "identity", "br", "gzip;q=0", "gzip; q=0.000", "xgzip", "gzipped",
                         "br;q=1, gzip;q=0, deflate", ",", ";", "gzip;q=0,gzip"})
    EXPECT_FALSE(takes_gzip(no)) << no;
}

class Files : public testing::Test {
 protected:
  Files() : server(site.door()) {
    EXPECT_FALSE(server.serve_page("127.0.0.1:" + std::to_string(port)));
  }

  test::RawClient get(const std::string& path, const std::string& headers = "") {
    test::RawClient client(port);
    client.send("GET " + path + " HTTP/1.1\r\nHost: localhost\r\n" + headers + "\r\n");
    for (int i = 0; i < 300 && !client.closed(); ++i) {
      test::pump(server);
      client.read();
    }
    return client;
  }

  test::FakeSite site;
  std::uint16_t port = test::free_port();
  WebServer server;
};

TEST_F(Files, ArePackedForWhoeverAsksForIt) {
  const std::string text(kPageStyle);
  const auto plain = get("/style.css");
  EXPECT_EQ(plain.body(), text);
  EXPECT_EQ(plain.header("Content-Encoding"), "");
  EXPECT_EQ(plain.header("Vary"), "Accept-Encoding");
  for (int again = 0; again < 2; ++again) {
    const auto packed = get("/style.css", "Accept-Encoding: gzip, deflate, br\r\n");
    EXPECT_EQ(packed.header("Content-Encoding"), "gzip");
    EXPECT_EQ(packed.header("Vary"), "Accept-Encoding");
    EXPECT_LT(packed.body().size(), text.size() / 2);
    EXPECT_EQ(unpacked(packed.body(), text.size()), text);
  }
}

TEST_F(Files, AreKeptWhereTheAddressNamesTheirText) {
  EXPECT_THAT(asset_address("/style.css"), HasSubstr("/style.css?v="));
  EXPECT_NE(asset_address("/style.css").substr(10), asset_address("/page.js").substr(8));
  const std::string page = get("/").body();
  for (const char* path : {"/style.css", "/page.js"}) {
    EXPECT_THAT(page, HasSubstr("\"" + asset_address(path) + "\""));
    EXPECT_EQ(get(asset_address(path)).header("Cache-Control"), "max-age=31536000, immutable");
    EXPECT_EQ(get(path).header("Cache-Control"), "no-store");
    EXPECT_EQ(get(std::string(path) + "?v=00000000").header("Cache-Control"), "no-store");
  }
  EXPECT_EQ(get("/uplot-1.6.32.js").header("Cache-Control"), "max-age=31536000, immutable");
}

// A page holds the token of its forms beside words of strangers: its length must not tell of both.
TEST_F(Files, AloneArePacked) {
  for (const char* path : {"/", "/batches", "/cabinets/setter-a", "/api/cabinets", "/metrics"})
    EXPECT_EQ(get(path, "Accept-Encoding: gzip\r\n").header("Content-Encoding"), "") << path;
}

}  // namespace
}  // namespace clutchward
