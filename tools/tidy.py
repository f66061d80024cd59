"""The house rules that a program can check. Prints each breach with its place; exit 1 if any."""
import pathlib
import re
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parent.parent

# A core room may include itself and the rooms before it.
CORE = ["base", "statistics", "markup", "reading", "rules", "cabinet", "incubation", "alarm", "notification",
        "quality", "engine", "wire", "report", "access"]
# An edge room may include itself, base and the core headers it translates to and from.
EDGE = ["ingest", "channel", "config", "store", "web", "loop"]
EDGE_CORE = {
    "ingest": ["base"],
    "loop": ["base"],
    "store": ["base"],
    "channel": CORE,
    "config": ["base", "reading", "rules", "cabinet", "incubation", "access"],
    "web": CORE,
}
# Third-party headers by room; every room has the standard library.
LIBRARIES = {
    "base": [], "statistics": [], "rules": [], "cabinet": [], "incubation": [], "alarm": [], "notification": [],
    "quality": [], "engine": [],
    "access": ["openssl/", "argon2.h"],
    "reading": ["simdjson.h"],
    "wire": ["nlohmann/"],
    "markup": ["kainjow/"],
    "report": ["nlohmann/"],
    "ingest": ["mqtt/", "MQTTAsync.h", "sys/", "unistd.h"],
    "channel": ["curl/", "gmime/", "libxml/", "openssl/", "kainjow/", "nlohmann/", "sys/", "unistd.h", "poll.h",
                "arpa/", "netinet/", "strings.h", "fcntl.h", "glib.h"],
    "config": ["yaml-cpp/", "kainjow/", "sys/", "unistd.h", "arpa/", "netinet/", "fcntl.h"],
    "store": ["sqlite3.h", "yaml-cpp/", "sys/", "unistd.h", "fcntl.h", "dirent.h"],
    "web": ["microhttpd.h", "libical/", "qrcodegen/", "nlohmann/", "kainjow/", "prometheus/", "sys/", "unistd.h",
            "arpa/",
            "netinet/", "fcntl.h", "poll.h", "strings.h", "zlib.h"],
    "loop": ["systemd/", "sys/", "unistd.h", "signal.h", "time.h", "poll.h", "pthread.h"],
    "app": ["malloc.h", "curl/", "CLI/", "spdlog/", "simdjson.h", "unistd.h", "sysexits.h", "fcntl.h", "sys/"],
}
# Only loop/ names a clock.
CLOCKS = re.compile(r"\b(system_clock|steady_clock|high_resolution_clock)::now|clock_gettime|\bgettimeofday|\btime\(nullptr\)")
CORE_BANNED = re.compile(r"std::thread|std::mutex|getenv|std::cout|std::cerr|std::ifstream|std::ofstream|spdlog|shared_ptr")
NAMES_BANNED = re.compile(r"\b(class|struct)\s+\w*(Manager|Helper|Utils)\b")
MAX_LINES = 400

breaches = []


def breach(path, line, what):
    breaches.append(f"{path.relative_to(ROOT)}:{line}: {what}")


def room_of(path):
    parts = path.relative_to(ROOT / "daemon").parts
    return parts[0] if len(parts) > 1 else "app"


def allowed_rooms(room):
    if room == "app":
        return CORE + EDGE + ["app"]
    if room in CORE:
        return CORE[: CORE.index(room) + 1]
    return EDGE_CORE[room] + [room]


def check_source(path):
    room = room_of(path)
    text = path.read_text()
    lines = text.splitlines()
    if len(lines) > MAX_LINES:
        breach(path, 1, f"{len(lines)} lines; at most {MAX_LINES}")
    if not text.startswith("//"):
        breach(path, 1, "does not open with what it is for")
    for number, line in enumerate(lines, 1):
        include = re.match(r'#include ([<"])([^>"]+)[>"]', line)
        if include and include.group(1) == '"':
            target = include.group(2).split("/")[0]
            if target not in allowed_rooms(room):
                breach(path, number, f"room {room} may not include {include.group(2)}")
        elif include and re.search(r"[/.]", include.group(2)) and room in LIBRARIES:
            if not any(include.group(2).startswith(each) for each in LIBRARIES[room]):
                breach(path, number, f"room {room} may not use {include.group(2)}")
        code = line.split("//")[0]
        if room != "loop" and CLOCKS.search(code):
            breach(path, number, "only loop/ names a clock")
        if room in CORE and CORE_BANNED.search(code):
            breach(path, number, "not in a core room: " + CORE_BANNED.search(code).group(0))
        if NAMES_BANNED.search(code):
            breach(path, number, "a Manager, Helper or Utils says nothing")
        if path.suffix == ".h" and re.match(r"\s*using namespace", code):
            breach(path, number, "using namespace in a header")


def check_map():
    """Every room stands in DEVELOPERS.md, and every room that stands there exists."""
    text = (ROOT / "DEVELOPERS.md").read_text()
    named = set(re.findall(r"^\| `(\w+)/` \|", text, re.M))
    rooms = {p.name for p in (ROOT / "daemon").iterdir() if p.is_dir()}
    for room in sorted(rooms - named):
        breaches.append(f"DEVELOPERS.md: room {room}/ is missing from the map")
    for room in sorted(named - rooms):
        breaches.append(f"DEVELOPERS.md: room {room}/ stands in the map and does not exist")


def check_names():
    """No two headers define a type of the same name: all share one namespace, and the linker would
    take the functions of one for both without a word."""
    first = {}
    for path in sorted((ROOT / "daemon").rglob("*.h")):
        for name in re.findall(r"^(?:struct|class|enum class) (\w+)\b(?!::)[^;\n]*\{", path.read_text(), re.M):
            if first.setdefault(name, path) != path:
                breach(path, 1, f"defines {name}, as {first[name].relative_to(ROOT)} does")


def check_format():
    """Debian 12's formatter is the measure; another version would see other breaches."""
    version = subprocess.run(["clang-format", "--version"], capture_output=True, text=True)
    if " 14." not in version.stdout:
        print("clang-format 14 is not here: formatting not checked")
        return
    files = subprocess.run(["git", "ls-files", "*.cpp", "*.h"], cwd=ROOT, capture_output=True,
                           text=True, check=True).stdout.split()
    result = subprocess.run(["clang-format", "--dry-run", "-Werror", *files], cwd=ROOT,
                            capture_output=True, text=True)
    for line in result.stderr.splitlines():
        if "error:" in line:
            breaches.append(line.split(" error:")[0] + " not formatted: tools/tidy --fix")


def main():
    for path in sorted((ROOT / "daemon").rglob("*")):
        if path.suffix in (".h", ".cpp"):
            check_source(path)
    check_map()
    check_names()
    check_format()
    print("\n".join(breaches) if breaches else "house rules: no breach")
    return 1 if breaches else 0


if __name__ == "__main__":
    sys.exit(main())
