// OpenSSL's generator, hash and MAC.
#include "access/random.h"

#include <openssl/crypto.h>
#include <openssl/evp.h>
#include <openssl/hmac.h>
#include <openssl/rand.h>

#include "base/check.h"

namespace clutchward {
namespace {

constexpr std::string_view kLetters =
    "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_";

const unsigned char* bytes_of(std::string_view text) {
  return reinterpret_cast<const unsigned char*>(text.data());
}

}  // namespace

std::string random_bytes(std::size_t bytes) {
  std::string out(bytes, '\0');
  CHECK(RAND_bytes(reinterpret_cast<unsigned char*>(out.data()), static_cast<int>(bytes)) == 1);
  return out;
}

std::string hmac_sha256(std::string_view key, std::string_view text) {
  std::string out(EVP_MAX_MD_SIZE, '\0');
  unsigned length = 0;
  CHECK(HMAC(EVP_sha256(), key.data(), static_cast<int>(key.size()), bytes_of(text), text.size(),
             reinterpret_cast<unsigned char*>(out.data()), &length) != nullptr);
  out.resize(length);
  return out;
}

std::string sha256(std::string_view text) {
  std::string out(EVP_MAX_MD_SIZE, '\0');
  unsigned length = 0;
  CHECK(EVP_Digest(text.data(), text.size(), reinterpret_cast<unsigned char*>(out.data()), &length,
                   EVP_sha256(), nullptr) == 1);
  out.resize(length);
  return out;
}

bool same_secret(std::string_view left, std::string_view right) {
  return left.size() == right.size() && CRYPTO_memcmp(left.data(), right.data(), left.size()) == 0;
}

std::string to_base64url(std::string_view bytes) {
  std::string out;
  unsigned held = 0;
  int bits = 0;
  for (const char c : bytes) {
    held = (held << 8 | static_cast<unsigned char>(c)) & 0xffff;
    bits += 8;
    while (bits >= 6) {
      bits -= 6;
      out += kLetters[held >> bits & 63];
    }
  }
  if (bits > 0) out += kLetters[held << (6 - bits) & 63];
  return out;
}

bool from_base64url(std::string_view text, std::string& bytes) {
  bytes.clear();
  unsigned held = 0;
  int bits = 0;
  for (const char c : text) {
    const auto value = kLetters.find(c);
    if (value == std::string_view::npos) return false;
    held = (held << 6 | static_cast<unsigned>(value)) & 0xffff;
    bits += 6;
    if (bits >= 8) {
      bits -= 8;
      bytes += static_cast<char>(held >> bits & 0xff);
    }
  }
  // One spelling a value: no loose bits, no dangling letter.
  return bits < 6 && (held & ((1U << bits) - 1)) == 0;
}

}  // namespace clutchward
