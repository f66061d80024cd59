#!/usr/bin/env python3
"""Each system call of the real store fails in turn, with each error, or the process is killed in it.

strace injects the failure at the n-th occurrence, for every n of a run without failures. Whatever
fails, the writer must end by itself (a kill apart) and crash_reader must find every acknowledged
turn and a state that was handed over.
"""
import collections
import os
import re
import shutil
import subprocess
import sys
import tempfile

CALLS = ("fsync", "fdatasync", "syncfs", "write", "rename", "openat", "unlink")
FAILURES = ("error=EIO", "error=ENOSPC", "error=EINTR", "signal=SIGKILL")
TURNS = 8


def paths_below(folder, writer):
    """The paths that a run touches, and how often each call touches them, at most per thread."""
    trace = folder + ".trace"
    subprocess.run(["strace", "-f", "-y", "-o", trace, "-e", "trace=" + ",".join(CALLS), writer,
                    folder, str(TURNS)], check=True, stdout=subprocess.DEVNULL, timeout=180)
    paths, counts = set(), collections.Counter()
    with open(trace, encoding="utf-8") as stream:
        for line in stream:
            found = re.match(r"(\d+) +(\w+)\(", line)
            below = re.findall(re.escape(folder) + r'[^">,]*', line)
            if found and below:
                paths.update(below)
                counts[found.group(2), found.group(1)] += 1
    most = {call: max([n for (name, _), n in counts.items() if name == call], default=0)
            for call in CALLS}
    return sorted(paths), most


def run_with(writer, folder, paths, call, failure, when):
    command = ["strace", "-f", "-qq", "-o", folder + ".trace", "-e", "trace=" + call,
               "-e", f"inject={call}:{failure}:when={when}"]
    for path in paths:
        command += ["-P", path]
    ended = subprocess.run(command + [writer, folder, str(TURNS)], stdout=subprocess.PIPE,
                           stderr=subprocess.PIPE, text=True, timeout=180)
    acknowledged = [int(line.split()[1]) for line in ended.stdout.splitlines()
                    if line.startswith("acknowledged ")]
    with open(folder + ".trace", encoding="utf-8", errors="replace") as stream:
        trace = stream.read()
    return ended, max(acknowledged, default=0), "INJECTED" in trace or "SIGKILL" in trace


def complaint(ended, acknowledged, answer, killing):
    refused = ended.returncode == 1 and ended.stderr.startswith("refused ")
    if ended.returncode != 0 and not refused and not (killing and ended.returncode in (-9, 137)):
        return f"the writer ended with {ended.returncode}: {ended.stderr.strip()}"
    words = answer.split(None, 3)
    if words[:1] != ["turn"] or words[2] != "right":
        return answer
    if int(words[1]) < acknowledged:
        return f"turn {acknowledged} was acknowledged, kept up to {words[1]}"
    return None


def main():
    writer, reader = sys.argv[1:3]
    memory = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None
    scratch = tempfile.mkdtemp(prefix="faults-", dir=memory)
    folder = os.path.join(scratch, "state")
    runs = hit = 0
    complaints = []
    try:
        paths, most = paths_below(folder, writer)
        for call in CALLS:
            for failure in FAILURES:
                for when in list(range(1, most[call] + 1)) + ["1+"]:
                    shutil.rmtree(folder, ignore_errors=True)
                    # Failing for good: the store must say so and keep running, not give up or die.
                    if when == "1+" and "KILL" in failure:
                        continue
                    ended, acknowledged, injected = run_with(writer, folder, paths, call, failure, when)
                    runs += 1
                    hit += injected
                    os.makedirs(folder, exist_ok=True)
                    answer = subprocess.run([reader], input=folder + "\n", text=True, timeout=180,
                                            stdout=subprocess.PIPE).stdout.strip()
                    why = complaint(ended, acknowledged, answer, "KILL" in failure)
                    if why:
                        complaints.append(f"{call} {failure} when={when}: {why}")
        print(f"{runs} runs, {hit} with a failure injected, {len(complaints)} wrong")
        for line in complaints[:20]:
            print("  " + line)
        if complaints:
            sys.exit("the store lost what it had promised, or died")
        if hit < runs // 4:
            sys.exit("most failures were not injected: the check checks nothing")
    finally:
        shutil.rmtree(scratch, ignore_errors=True)


if __name__ == "__main__":
    main()
