#!/usr/bin/env python3
"""Every disk state a power cut may leave behind each system call of the real store.

Records crash_writer's system calls with strace, rebuilds for every prefix the states an abstract
file system may leave (nothing, all, each ordered part, each single one, all but one of what was not
synced; each write also torn in half and filled with zeros), and has crash_reader open each of them.
Method: Pillai et al., OSDI 2014. A writer whose syncs do nothing must fail the same check.
"""
import hashlib
import os
import re
import shutil
import subprocess
import sys
import tempfile

CALLS = "openat,write,pwrite64,fsync,fdatasync,syncfs,rename,unlink,ftruncate,close,mkdir,fallocate"
LINE = re.compile(r"^(\d+) +(.*)$")
DONE = re.compile(r"^(\w+)\((.*)\) += (-?\d+)")
STRING = re.compile(r'"((?:\\x[0-9a-f]{2})*)"')


def unhex(text):
    return bytes.fromhex(text.replace("\\x", ""))


def paths_of(arguments):
    return [unhex(text).decode() for text in STRING.findall(arguments)]


def file_of(arguments):
    """The path that strace -y shows behind the first argument's descriptor."""
    found = re.match(r"\d+<([^>]*)>", arguments)
    text = found.group(1) if found else ""
    return unhex(text).decode() if "\\x" in text else text


def finished_calls(trace):
    """(name, arguments, result) in the order in which the calls returned."""
    begun = {}
    for line in trace.splitlines():
        match = LINE.match(line)
        if not match:
            continue
        thread, text = match.groups()
        if text.endswith("<unfinished ...>"):
            begun[thread] = text[: -len("<unfinished ...>")]
            continue
        resumed = re.match(r"<\.\.\. \w+ resumed>(.*)$", text)
        if resumed:
            text = begun.pop(thread, "") + resumed.group(1)
        done = DONE.match(text)
        if done:
            yield done.group(1), done.group(2).rstrip(), int(done.group(3))


def record(writer, folder, turns, extra):
    trace = folder + ".trace"
    command = ["strace", "-f", "-xx", "-s", "1000000", "-y", "-o", trace, "-e", "trace=" + CALLS,
               writer, folder, str(turns), *extra]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, timeout=180)
    with open(trace, encoding="ascii") as stream:
        return operations(stream.read(), folder)


def operations(trace, root):
    """Operations on files below root; inodes are numbered as they are made."""
    result, inode_of, next_inode = [], {}, 1
    for name, arguments, answer in finished_calls(trace):
        if answer < 0:
            continue
        if name == "write" and arguments.startswith("1<"):
            said = unhex(STRING.search(arguments).group(1)).decode().split()
            result.append(("say", said[0], int(said[1])))
            continue
        path = file_of(arguments)
        if name == "openat":
            path = paths_of(arguments)[0]
            if not path.startswith(root + "/") or "O_CREAT" not in arguments:
                continue
            if path not in inode_of:
                inode_of[path], next_inode = next_inode, next_inode + 1
                result.append(("create", path, inode_of[path]))
        elif name == "mkdir":
            if paths_of(arguments)[0].startswith(root + "/"):
                result.append(("mkdir", paths_of(arguments)[0]))
        elif name in ("rename", "unlink"):
            names = paths_of(arguments)
            inode = inode_of.pop(names[0])
            if name == "rename":
                inode_of[names[1]] = inode
            result.append((name, names, inode))
        elif path == root or path.startswith(root + "/"):
            if name == "write":
                data = unhex(STRING.search(arguments).group(1))
                assert len(data) == answer, "strace cut a write short"
                result.append(("write", inode_of[path], data))
            elif name in ("fsync", "fdatasync"):
                result.append(("sync", inode_of[path]) if path in inode_of else ("syncdir", path))
            elif name == "syncfs":
                result.append(("syncall",))
            elif name in ("pwrite64", "ftruncate"):
                sys.exit(f"{name} is not in the model")
    return result


def apply(operation, part, names, data, folders):
    kind = operation[0]
    if kind == "write":
        _, inode, content = operation
        if part == "half":
            content = content[: len(content) // 2]
        elif part == "zeros":
            content = bytes(len(content))
        data[inode] = data.get(inode, b"") + content
    elif kind == "create":
        names[operation[1]] = operation[2]
    elif kind == "mkdir":
        folders.add(operation[1])
    elif kind == "unlink":
        names.pop(operation[1][0], None)
    elif kind == "rename":
        if names.get(operation[1][0]) == operation[2]:
            names.pop(operation[1][0])
        names[operation[1][1]] = operation[2]


def folder_of(operation):
    path = operation[1] if isinstance(operation[1], str) else operation[1][0]
    return os.path.dirname(path)


def choices(pending):
    n = len(pending)
    torn = ("half", "zeros")
    yield [None] * n
    for i in range(n):
        yield ["all"] * (i + 1) + [None] * (n - i - 1)
        yield [None] * i + ["all"] + [None] * (n - i - 1)
        yield ["all"] * i + [None] + ["all"] * (n - i - 1)
        if pending[i][0] == "write":
            for part in torn:
                yield ["all"] * i + [part] + [None] * (n - i - 1)
                yield ["all"] * i + [part] + ["all"] * (n - i - 1)


def states(recorded, root):
    """(files, attempted, acknowledged) for every prefix and every choice of what was pending."""
    names, data, folders, pending = {}, {}, {root}, []
    attempted = acknowledged = 0

    def settle(which):
        for operation in [p for p in pending if which(p)]:
            apply(operation, "all", names, data, folders)
            pending.remove(operation)

    for operation in [("start",)] + recorded:
        kind = operation[0]
        if kind == "say":
            if operation[1] == "attempted":
                attempted = operation[2]
            else:
                acknowledged = operation[2]
        elif kind == "sync":
            settle(lambda p: p[0] == "write" and p[1] == operation[1])
        elif kind == "syncall":  # of data: nobody may count on it for names
            settle(lambda p: p[0] == "write")
        elif kind == "syncdir":
            settle(lambda p: p[0] != "write" and folder_of(p) == operation[1])
        elif kind != "start":
            pending.append(operation)
        for choice in choices(pending):
            now = dict(names), dict(data), set(folders)
            for pended, part in zip(pending, choice):
                if part:
                    apply(pended, part, *now)
            files = {path: now[1].get(inode, b"") for path, inode in now[0].items()
                     if reachable(os.path.dirname(path), root, now[2])}
            yield files, attempted, acknowledged


def reachable(folder, root, folders):
    while folder != root:
        if folder not in folders:
            return False
        folder = os.path.dirname(folder)
    return True


def check(recorded, root, reader, scratch):
    """Numbers of states, of distinct ones, and the complaints."""
    process = subprocess.Popen([reader], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    answers, complaints, count = {}, [], 0
    for files, attempted, acknowledged in states(recorded, root):
        count += 1
        print_of = hashlib.sha1(repr(sorted(files.items())).encode()).digest()
        if print_of not in answers:
            place = os.path.join(scratch, "state")
            shutil.rmtree(place, ignore_errors=True)
            os.makedirs(place)
            for path, content in files.items():
                target = place + path[len(root):]
                os.makedirs(os.path.dirname(target), exist_ok=True)
                with open(target, "wb") as stream:
                    stream.write(content)
            process.stdin.write(place + "\n")
            process.stdin.flush()
            answers[print_of] = process.stdout.readline().strip()
        words = answers[print_of].split(None, 3)
        if words[:1] != ["turn"] or words[2] != "right" or len(words) > 3:
            complaints.append(answers[print_of])
        elif not acknowledged <= int(words[1]) <= attempted:
            complaints.append(f"turn {words[1]}, acknowledged {acknowledged}, attempted {attempted}")
    process.stdin.close()
    process.wait()
    return count, len(answers), complaints


def main():
    writer, reader = sys.argv[1:3]
    memory = "/dev/shm" if os.access("/dev/shm", os.W_OK) else None
    scratch = tempfile.mkdtemp(prefix="prefixes-", dir=memory)
    try:
        root = os.path.join(scratch, "run")
        good = check(record(writer, root, 30, []), root, reader, scratch)
        print(f"synced: {good[0]} states, {good[1]} distinct, {len(good[2])} wrong")
        for complaint in good[2][:5]:
            print("  " + complaint)
        root = os.path.join(scratch, "control")
        bad = check(record(writer, root, 6, ["--no-fsync"]), root, reader, scratch)
        print(f"not synced: {bad[0]} states, {bad[1]} distinct, {len(bad[2])} wrong")
        if good[1] < 100:
            sys.exit("too few states: the recording is incomplete")
        if good[2]:
            sys.exit("the store lost what it had promised")
        if len(bad[2]) < bad[0] // 4:
            sys.exit("the writer without syncs passed: the check checks nothing")
    finally:
        shutil.rmtree(scratch, ignore_errors=True)


if __name__ == "__main__":
    main()
