// Signing of webhooks. Base64 is read strictly: a secret that was copied wrongly is refused here
// rather than by every receiver.
#include "channel/signature.h"

#include <openssl/evp.h>
#include <openssl/hmac.h>

#include <array>

#include "base/check.h"

namespace clutchward {
namespace {

constexpr std::string_view kPrefix = "whsec_";

std::string base64(const unsigned char* data, std::size_t size) {
  std::string text((size + 2) / 3 * 4 + 1, '\0');
  const int length =
      EVP_EncodeBlock(reinterpret_cast<unsigned char*>(text.data()), data, static_cast<int>(size));
  text.resize(static_cast<std::size_t>(length));
  return text;
}

}  // namespace

Result<std::string> signing_key(std::string_view secret) {
  if (secret.substr(0, kPrefix.size()) == kPrefix) secret.remove_prefix(kPrefix.size());
  const Refusal refusal{"is not a signing secret: expected whsec_ and base64"};
  std::size_t padding = 0;
  while (padding < secret.size() && secret[secret.size() - 1 - padding] == '=') ++padding;
  if (padding > 2) return refusal;
  std::string padded(secret.substr(0, secret.size() - padding));
  if (padded.empty() || padded.size() % 4 == 1) return refusal;
  const std::size_t added = (4 - padded.size() % 4) % 4;
  if (padding != 0 && padding != added) return refusal;
  // The decoder below skips blanks at the ends and stops at a hyphen; nothing of the kind is
  // base64.
  for (const char c : padded)
    if (!((c >= 'A' && c <= 'Z') || (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '+' ||
          c == '/'))
      return refusal;
  padded.append(added, '=');
  std::string key(padded.size() / 4 * 3, '\0');
  const int length = EVP_DecodeBlock(reinterpret_cast<unsigned char*>(key.data()),
                                     reinterpret_cast<const unsigned char*>(padded.data()),
                                     static_cast<int>(padded.size()));
  if (length < 0) return refusal;
  key.resize(static_cast<std::size_t>(length) - added);
  return key;
}

std::string signature_header(const std::vector<std::string>& keys, std::string_view id,
                             std::int64_t timestamp_seconds, std::string_view body) {
  std::string content(id);
  content.append(".").append(std::to_string(timestamp_seconds)).append(".").append(body);
  std::string header;
  for (const std::string& key : keys) {
    std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
    unsigned int length = 0;
    CHECK(HMAC(EVP_sha256(), key.data(), static_cast<int>(key.size()),
               reinterpret_cast<const unsigned char*>(content.data()), content.size(),
               digest.data(), &length) != nullptr);
    if (!header.empty()) header += ' ';
    header += "v1," + base64(digest.data(), length);
  }
  return header;
}

}  // namespace clutchward
