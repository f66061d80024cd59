// Folding to plain ASCII for text messages: Latin letters lose their accents, the degree sign goes,
// everything else is a question mark. It refuses to guess at other scripts.
#include <array>

#include "base/text.h"
#include "base/utf8.h"

namespace clutchward {
namespace {

// Base letters of a run of code points; '?' where there is none, '*' where it takes two letters.
struct Run {
  char32_t first;
  std::string_view letters;
};
// Unicode's blocks Latin-1 Supplement, Latin Extended-A, a few of Extended-B, Extended Additional.
constexpr std::array<Run, 6> kRuns = {{
    {0x00C0, "AAAAAA*CEEEEIIIIDNOOOOO?OUUUUY**aaaaaa*ceeeeiiiidnooooo?ouuuuy*y"},
    {0x0100,
     "AaAaAaCcCcCcCcDdDdEeEeEeEeEeGgGgGgGgHhHhIiIiIiIiIi**JjKkkLlLlLlLlLl"
     "NnNnNnnNnOoOoOo**RrRrRrSsSsSsSsTtTtTtUuUuUuUuUuUuWwYyYZzZzZzs"},
    {0x01A0, "Oo"},
    {0x01AF, "Uu"},
    {0x0218, "SsTt"},
    {0x1E00,
     "AaBbBbBbCcDdDdDdDdDdEeEeEeEeEeFfGgHhHhHhHhHhIiIiKkKkKkLlLlLlLlMmMmMmNnNnNnNn"
     "OoOoOoOoPpPpRrRrRrRrSsSsSsSsSsTtTtTtTtUuUuUuUuUuVvVvWwWwWwWwWwXxXxYyZzZzZzhtwyasss*d"
     "AaAaAaAaAaAaAaAaAaAaAaAaEeEeEeEeEeEeEeEeIiIiOoOoOoOoOoOoOoOoOoOoOoOo"
     "UuUuUuUuUuUuUuYyYyYyYy"},
}};
static_assert(kRuns[0].letters.size() == 0x40);
static_assert(kRuns[1].letters.size() == 0x80);
static_assert(kRuns[5].letters.size() == 0xFA);

std::string_view two_letters(char32_t code) {
  switch (code) {
    case 0x00C6:
      return "AE";
    case 0x00E6:
      return "ae";
    case 0x00DE:
      return "Th";
    case 0x00FE:
      return "th";
    case 0x00DF:
      return "ss";
    case 0x0132:
      return "IJ";
    case 0x0133:
      return "ij";
    case 0x0152:
      return "OE";
    case 0x0153:
      return "oe";
    case 0x1E9E:
      return "SS";
    default:
      return "?";
  }
}

void put_folded(std::string& out, char32_t code) {
  constexpr char32_t kDegree = 0xB0;
  const bool combining = code >= 0x0300 && code <= 0x036F;
  if (code == kDegree || combining) return;
  for (const Run& run : kRuns) {
    if (code < run.first || code - run.first >= run.letters.size()) continue;
    const char letter = run.letters[code - run.first];
    if (letter == '*')
      out += two_letters(code);
    else
      out += letter;
    return;
  }
  out += '?';
}

}  // namespace

std::string to_ascii(std::string_view text) {
  std::string out;
  out.reserve(text.size());
  while (!text.empty()) {
    const utf8::Character character = utf8::first(text);
    if (character.bytes == 0)
      out += '?';
    else if (character.bytes == 1)
      out += text.front();
    else
      put_folded(out, character.code);
    text.remove_prefix(character.bytes == 0 ? 1 : character.bytes);
  }
  return out;
}

}  // namespace clutchward
