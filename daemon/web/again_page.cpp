// A form that was refused, with what was typed into it.
#include "web/again_page.h"

#include <algorithm>

#include "web/html.h"
#include "web/site.h"

namespace clutchward {
namespace {

constexpr std::string_view kAgain = R"(<main>
<h1>{{title}}</h1>
<p class="doubts" role="alert">{{why}}</p>
<form method="post" action="/do" class="fields">
{{#hidden}}<input type="hidden" name="{{name}}" value="{{value}}">
{{/hidden}}{{#typed}}<label for="again-{{name}}">{{text}}</label>
<input id="again-{{name}}" name="{{name}}" value="{{value}}" maxlength="200">
{{/typed}}{{#sure}}<p class="tick"><input type="checkbox" id="again-sure" name="sure" value="yes"><label for="again-sure">It is right although it seems impossible</label></p>
{{/sure}}<button class="main">Try again</button>
</form>
<p><a class="button" href="{{back}}">Back</a></p>
</main>
)";

struct Label {
  std::string_view name;
  const char* text;
};
constexpr Label kLabels[] = {{"batch", "A name for it, without blanks"},
                             {"profile", "Species"},
                             {"move_to", "To the cabinet"},
                             {"grams", "All eggs together, in grams, without the tray"},
                             {"eggs", "Eggs"},
                             {"stored_days", "Days in store before"},
                             {"fate_infertile", "Clear"},
                             {"fate_dead_early", "Dead, first third"},
                             {"fate_dead_middle", "Dead, second third"},
                             {"fate_dead_late", "Dead, last third"},
                             {"fate_cracked", "Cracked"},
                             {"fate_culled", "Culled"},
                             {"fate_hatched", "Hatched"},
                             {"fate_pipped", "Pipped, not hatched"},
                             {"fate_other", "Something else"},
                             {"note", "A note"}};
constexpr std::string_view kTypedDeeds[] = {"batch_start", "candled", "weighed", "batch_move",
                                            "batch_end"};

std::string deed_in(const Fields& fields) {
  for (const auto& [name, value] : fields)
    if (name == "do") return value;
  return {};
}

// The engine's sentence is for programs as well: what a person cannot do with it is told otherwise.
struct Why {
  std::string text;
  bool sure = false;  // it can be insisted on
};
Why for_people(std::string text) {
  constexpr std::string_view kSure = "; if it is right all the same";
  constexpr std::string_view kNoId = " cannot be an id";
  Why why;
  if (const auto at = text.find(kSure); at != std::string::npos) {
    text.resize(at);
    why.sure = true;
  }
  if (const auto at = text.find(kNoId); at != std::string::npos) {
    text.resize(at);
    text +=
        " cannot be a name here: take at most 64 letters, digits and dashes, no blanks, no "
        "/ + #";
  }
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z')
    text[0] = static_cast<char>(text[0] - 'a' + 'A');
  while (text.ends_with('\n')) text.pop_back();
  if (!text.ends_with('.')) text += ".";
  why.text = std::move(text);
  return why;
}

}  // namespace

Answer not_done(unsigned status, const std::string& why, const Fields& typed,
                const std::string& back, const Site& site, const Visitor& visitor) {
  const std::string deed = deed_in(typed);
  const Why words = for_people(why);
  if (std::find(std::begin(kTypedDeeds), std::end(kTypedDeeds), deed) == std::end(kTypedDeeds))
    return said(status, "Not done", words.text, back, site, visitor);
  HtmlData page;
  put(page, "title", "Not done");
  put(page, "why", words.text);
  put(page, "back", own_path(back));
  page.set("sure", words.sure);
  HtmlList hidden;
  HtmlList shown;
  for (const auto& [name, value] : typed) {
    const auto label =
        std::find_if(std::begin(kLabels), std::end(kLabels),
                     [&name = name](const Label& each) { return each.name == name; });
    const bool fixed = label == std::end(kLabels) || (name == "batch" && deed != "batch_start");
    if (name == "sure") continue;  // to be said of this figure
    HtmlData each = line(fixed ? "" : label->text);
    put(each, "name", name);
    put(each, "value", value);
    (fixed ? hidden : shown).push_back(std::move(each));
  }
  put_list(page, "hidden", std::move(hidden));
  put_list(page, "typed", std::move(shown));
  return html(status, document(kAgain, page, site.gate.terms(), visitor));
}

}  // namespace clutchward
