"""What every figure of tools/bench uses: the broker, the daemon and the floors as processes with
their CPU and memory, configurations for any number of cabinets, and pairs that become a figure.
It knows no figure and decides nothing but `met`."""

import datetime
import json
import os
import pathlib
import shutil
import signal
import socket
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request

sys.path.append(str(pathlib.Path(__file__).resolve().parents[1]))
from ports import free_port  # noqa: E402

TICK = os.sysconf("SC_CLK_TCK")
ROOT = pathlib.Path(__file__).resolve().parents[2]
BUILD = ROOT / "build" / "release"


def say(text):
    print(f"bench: {text}", file=sys.stderr, flush=True)


def program(name):
    return str(BUILD / "tests" / "bench" / f"bench_{name}")


def percentile(values, part):
    return sorted(values)[min(len(values) - 1, int(len(values) * part))]


def ask(name, *arguments, timeout=600):
    """One run of a benchmark program; what it printed."""
    done = subprocess.run([program(name), *map(str, arguments)], stdout=subprocess.PIPE,
                          timeout=timeout)
    if done.returncode != 0:
        raise RuntimeError(f"bench_{name} {' '.join(map(str, arguments))}: exit {done.returncode}")
    return json.loads(done.stdout)


class Process:
    """A program of ours while it runs, measured from outside."""

    def __init__(self, command, log, env=None):
        self.log = log
        self.child = subprocess.Popen([str(each) for each in command], stdout=subprocess.PIPE,
                                      stderr=open(log, "ab"), env=env)

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.child.send_signal(signal.SIGTERM)
        try:
            self.child.wait(30)
        except subprocess.TimeoutExpired:
            self.child.kill()
            self.child.wait()
        self.child.stdout.close()

    def cpu(self):
        """Seconds of CPU, user and system, of all threads."""
        fields = pathlib.Path(f"/proc/{self.child.pid}/stat").read_text().rpartition(")")[2].split()
        return (int(fields[11]) + int(fields[12])) / TICK

    def resident(self):
        for line in pathlib.Path(f"/proc/{self.child.pid}/status").read_text().splitlines():
            if line.startswith("VmRSS:"):
                return int(line.split()[1]) * 1024
        raise RuntimeError("no VmRSS")


class Workshop:
    """A folder and a broker for one run of tools/bench. Removed afterwards."""

    def __enter__(self):
        # State belongs on a real disk: a temporary folder in memory syncs in no time.
        self.folder = pathlib.Path(tempfile.mkdtemp(prefix="bench-", dir=BUILD))
        self.port = free_port()
        settings = self.folder / "mosquitto.conf"
        # No bound on what waits: a flood is to arrive whole, or nothing is compared.
        settings.write_text(f"listener {self.port} 127.0.0.1\nallow_anonymous true\n"
                            "max_queued_messages 0\nset_tcp_nodelay true\nlog_type error\n")
        mosquitto = shutil.which("mosquitto") or "/usr/sbin/mosquitto"
        self.broker = Process([mosquitto, "-c", settings], self.folder / "broker.log")
        for _ in range(100):
            with socket.socket() as one:
                if one.connect_ex(("127.0.0.1", self.port)) == 0:
                    return self
            time.sleep(0.05)
        raise RuntimeError("the broker does not start")

    def __exit__(self, *_):
        self.broker.__exit__()
        shutil.rmtree(self.folder)

    @property
    def url(self):
        return f"tcp://127.0.0.1:{self.port}"

    def place(self, name):
        return pathlib.Path(tempfile.mkdtemp(prefix=f"{name}-", dir=self.folder))

    def _clear(self):
        self._mosquitto("mosquitto_pub", "-r", "-n", "-t", "clutchward/bench/status")

    def _mosquitto(self, tool, *arguments):
        return subprocess.run([tool, "-p", str(self.port), *arguments], check=True, timeout=60,
                              stdout=subprocess.PIPE)

    def _started(self, command, place, env=None):
        process = Process(command, place / "log", env)
        for _ in range(100):
            said = subprocess.run(["mosquitto_sub", "-p", str(self.port), "-t",
                                   "clutchward/bench/status", "-C", "1", "-W", "1"],
                                  stdout=subprocess.PIPE).stdout
            if said.strip() == b"online":
                return process
            if process.child.poll() is not None:
                break
        process.__exit__()
        raise RuntimeError(f"does not start: {command}\n{(place / 'log').read_text()[-2000:]}")

    def daemon(self, config_text):
        self._clear()
        place = self.place("daemon")
        (place / "config.yaml").write_text(config_text)
        env = dict(os.environ, CLUTCHWARD_PROFILES=str(place / "none"))
        env.pop("JOURNAL_STREAM", None)
        return self._started([BUILD / "clutchwardd", "--config", place / "config.yaml",
                              "--state", place / "state"], place, env)

    def floor(self, name, *arguments):
        """A program that publishes …/status once it has subscribed."""
        self._clear()
        place = self.place(name)
        extra = [place / "records"] if arguments[:1] and arguments[0] in ("append", "webhook") else []
        command = [program(name), *arguments[:1], self.url, *extra, *arguments[1:]]
        return self._started(command, place)

    def hand_over(self):
        self._clear()
        return self._started([program("hand_over"), f"mqtt://127.0.0.1:{self.port}"],
                             self.place("hand-over"))

    def config(self, cabinets, hook=None, page=None, extra=""):
        set_at = (datetime.datetime.utcnow() - datetime.timedelta(days=5)).strftime("%FT%TZ")
        lines = [
            "site: Saltmere",
            f'broker: {{ url: "mqtt://127.0.0.1:{self.port}", base: clutchward/bench }}',
            "patterns:",
            '  - { topic: "farm/{cabinet}/{probe}/temperature", quantity: temperature }',
            '  - topic: "meters/{cabinet}/{probe}"',
            "    fields: [{ pointer: /outer/temperature, quantity: temperature }]",
            "profiles:",
            "  bench-hen:",
            "    name: Domestic hen",
            "    days: 21",
            "    stages: [{ name: setting, from_day: 0, target: 37.5, turn_every: off }]",
            extra,
        ]
        if hook:
            lines += [f'contacts: {{ mara: [{{ webhook: "http://127.0.0.1:{hook}/alert" }}] }}',
                      "escalation: [{ after: 0s, notify: [mara] }]"]
        if page:
            lines.append(f'page: {{ listen: "127.0.0.1:{page}" }}')
        lines.append("batches:")
        lines += [f'  - {{ id: b{i}, profile: bench-hen, cabinet: c{i}, set_at: "{set_at}" }}'
                  for i in range(cabinets)]
        return "\n".join(lines) + "\n"

    def settle(self):
        """Long enough for pictures (one a second and cabinet) and for checkpoints under way."""
        time.sleep(5)

    def rest(self):
        """Past the history's next commit, and past the last time (90 s after a burst) that the daemon
        gives memory back."""
        time.sleep(120)

    answers = 0

    def flood(self, count, qos=0, kind="plain", cabinets=20, timeout=120):
        """Publishes `count` readings; seconds until the subscriber has seen the last of them."""
        self.answers += 1
        return ask("flood", self.port, count, qos, kind, cabinets, f"answer-{self.answers}",
                   timeout)["seconds"]


def metric(port, name):
    text = urllib.request.urlopen(f"http://127.0.0.1:{port}/metrics", timeout=20).read().decode()
    return sum(float(line.rsplit(" ", 1)[1]) for line in text.splitlines()
               if line.startswith(name))


def spread(values):
    return {"median": round(statistics.median(values), 6), "min": round(min(values), 6),
            "max": round(max(values), 6)}


def figure(what, unit, pairs, target, judge="ratio", at_most=True, **more):
    """pairs: (value, floor). Judged by the median of the pairs' ratios, of the values, or of the
    differences, whichever the target speaks of."""
    ratios = [value / floor for value, floor in pairs]
    lists = {"ratio": ratios, "value": [value for value, _ in pairs],
             "difference": [value - floor for value, floor in pairs]}
    judged = statistics.median(lists[judge])
    result = {"what": what, "unit": unit, "value": spread(lists["value"]),
              "floor": spread([floor for _, floor in pairs]), "ratio": spread(ratios)}
    if judge == "difference":
        result["difference"] = spread(lists["difference"])
    met = judged <= target if at_most else judged >= target
    return {**result, "pairs": len(pairs), "judged": judge,
            "target": f"{'at most' if at_most else 'at least'} {target}", **more,
            "met": bool(met and more.get("also", True))}
