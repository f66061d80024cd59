// Writes the script: one walk over the verbs gives the tables, the rest is the same for every
// program.
#include "completion.h"

#include <vector>

namespace clutchward {
namespace {

// What stands for a value of that name; "" where the shell's own completion of files serves.
std::string kind_of(const std::string& name) {
  if (name == "cabinet" || name == "to") return "cabinets";
  if (name == "alarm") return "alarms";
  if (name == "batch") return "batches";
  if (name == "profile") return "profiles";
  if (name == "contact") return "contacts";
  if (name == "shell") return "shells";
  return "";
}

struct Tables {
  std::string verbs;    // "PATH WORD" leads to a path
  std::string words;    // what may stand at a path: verbs
  std::string options;  // options of a path
  std::string valued;   // "PATH OPTION" takes a value: of a kind
  std::string places;   // "PATH NUMBER": of a kind
};

// A verb whose name is being written is new, and nothing to complete.
bool is_new(const std::string& path, const std::string& name) {
  return path == "batch start" && name == "batch";
}

void add_option(const CLI::Option& option, const std::string& path, std::string& options,
                int& place, Tables& tables) {
  for (const std::string& name : option.get_lnames()) {
    options += " --" + name;
    if (option.get_items_expected_max() > 0)
      tables.valued +=
          "    '" + path + " --" + name + "') kind=" + kind_of(name) + " takes=yes ;;\n";
  }
  if (!option.get_positional()) return;
  const std::string name = option.get_name(true);
  const std::string kind = is_new(path, name) ? "" : kind_of(name);
  const bool many = option.get_expected_max() > 1;
  if (!kind.empty())
    tables.places +=
        "    '" + path + " '" + (many ? "*" : std::to_string(place)) + ") kind=" + kind + " ;;\n";
  ++place;
}

void walk(const CLI::App& app, const std::string& path, Tables& tables) {
  std::string options;
  int place = 0;
  for (const CLI::Option* option : app.get_options())
    add_option(*option, path, options, place, tables);
  std::string words;
  for (const CLI::App* verb : app.get_subcommands([](const CLI::App*) { return true; })) {
    if (verb->get_group().empty()) continue;  // not for people
    const std::string next = (path.empty() ? "" : path + " ") + verb->get_name();
    words += " " + verb->get_name();
    std::string names = "'" + path + " " + verb->get_name() + "'";
    for (const std::string& alias : verb->get_aliases()) names += " | '" + path + " " + alias + "'";
    tables.verbs += "      " + names + ") chosen='" + next + "' place=0 ;;\n";
    walk(*verb, next, tables);
  }
  tables.options += "    '" + path + "') options='" + options + "' ;;\n";
  if (!words.empty()) tables.words += "    '" + path + "') verbs='" + words + "' ;;\n";
}

constexpr const char* kBefore = R"sh(
# Offers each line that begins with what is being written, quoted for the shell.
_clutchward_offer() {
  local line
  while IFS= read -r line; do
    if [[ -n $line && $line == "$current"* ]]; then COMPREPLY+=("$(printf %q "$line")"); fi
  done
}

_clutchward_kind() { # PATH OPTION: whether the option takes a value, and what kind of one
  case "$1 $2" in
)sh";

constexpr const char* kWalk = R"sh(  esac
}

_clutchward() {
  local current="${COMP_WORDS[COMP_CWORD]}" chosen='' place=0 kind='' takes='' state='' cabinet=''
  local option='' options='' verbs='' word i program="${COMP_WORDS[0]}"
  COMPREPLY=()
  for ((i = 1; i < COMP_CWORD; ++i)); do
    word="${COMP_WORDS[i]}"
    if [[ $word == '=' && -n $option ]]; then continue; fi
    if [[ -n $option ]]; then
      case $option in
        --state) state="$word" ;;
        --cabinet) cabinet="$word" ;;
      esac
      option=''
      continue
    fi
    if [[ $word == -* ]]; then
      kind='' takes=''
      _clutchward_kind "$chosen" "$word"
      if [[ -n $takes ]]; then option="$word"; fi
      continue
    fi
    case "$chosen $word" in
)sh";

constexpr const char* kAfter = R"sh(      *)
        if ((place == 0)); then cabinet="$word"; fi
        ((++place))
        ;;
    esac
  done
  kind='' takes=''
  if [[ $current == '=' ]]; then current=''; fi
  if [[ -n $option ]]; then
    _clutchward_kind "$chosen" "$option"
  elif [[ $current != -* ]]; then
    case "$chosen $place" in
)sh";

constexpr const char* kOffer = R"sh(    esac
  fi
  if [[ -n $kind ]]; then
    _clutchward_offer < <("$program" completion names "$kind" "$cabinet" ${state:+--state "$state"} 2> /dev/null)
    return
  fi
  if [[ -n $option ]]; then return; fi
  case $chosen in
)sh";

std::string body(const Tables& tables) {
  return kBefore + tables.valued + kWalk + tables.verbs + kAfter + tables.places + kOffer +
         tables.words +
         "  esac\n"
         "  case $chosen in\n" +
         tables.options +
         "  esac\n"
         "  if [[ $current == -* ]]; then verbs=$options; fi\n"
         "  _clutchward_offer < <(printf '%s\\n' \"$verbs\" | tr ' ' '\\n')\n"
         "}\n";
}

}  // namespace

std::string completion_script(const CLI::App& app, Shell shell) {
  Tables tables;
  walk(app, "", tables);
  if (shell == Shell::bash)
    return "# Completion of clutchward for bash, made by `clutchward completion bash`.\n" +
           body(tables) + "\ncomplete -o default -F _clutchward clutchward\n";
  // zsh runs the same function through its own layer for it; a variable "path" would be its PATH.
  return "#compdef clutchward\n"
         "# Completion of clutchward for zsh, made by `clutchward completion zsh`.\n"
         "autoload -Uz +X bashcompinit && bashcompinit\n" +
         body(tables) + "\n_bash_complete -o default -F _clutchward\n";
}

}  // namespace clutchward
