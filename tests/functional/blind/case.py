"""One fault, produced while an alarm is due, in a Saltmere of its own: what is told to whom, after
how long. Subclasses produce the fault; nothing in here judges but the bounds that they give."""

import contextlib
import json
import os
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time
import traceback

sys.path.insert(0, os.path.join(os.path.dirname(os.path.dirname(os.path.abspath(__file__))), "daemon"))
from harness import BASE, KEEPER, Broker, Daemon, Mail, Phone, free_port, hours_ago, unix_of, wait_for  # noqa: E402
from outside import Watcher  # noqa: E402

DELAY = 10.0     # of the alarm that is due
PATIENCE = 14.0  # of whoever waits outside for a beat every 10 s
# What a busy machine with two cores may add to anything.
SLACK = 20.0


class Supervisor(threading.Thread):
    """What systemd does with the unit: the watchdog and `Restart=always`, its limits scaled down
    (60 s, 30 s and 3 s in the unit)."""

    WATCHDOG, STOP, RESTART = 6.0, 2.0, 3.0

    def __init__(self, daemon, folder, watchdog):
        super().__init__(daemon=True)
        self.watchdog = watchdog
        self.daemon_process, self.lock = daemon, threading.Lock()
        path = os.path.join(folder, "notify.sock")
        self.socket = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self.socket.bind(path)
        self.socket.settimeout(0.1)
        daemon.environment = {**daemon.environment, "NOTIFY_SOCKET": path,
                              "WATCHDOG_USEC": str(int(watchdog * 1e6))}
        self.fed, self.killed, self.starts, self.ended = None, [], 0, threading.Event()

    def launch(self):
        self.daemon_process.start()
        self.fed = time.monotonic()
        self.start()

    def run(self):
        while not self.ended.is_set():
            with contextlib.suppress(TimeoutError, OSError):
                told = self.socket.recv(4096).decode()
                if "WATCHDOG=1" in told or "READY=1" in told:
                    self.fed = time.monotonic()
            process = self.daemon_process.process
            if process.poll() is None and time.monotonic() - self.fed > self.watchdog:
                self.killed.append(time.monotonic())
                process.send_signal(signal.SIGABRT)
                with contextlib.suppress(subprocess.TimeoutExpired):
                    process.wait(self.STOP)
                process.kill()
                process.wait()
            if process.poll() is not None and not self.ended.wait(self.RESTART):
                self.daemon_process.start()
                self.starts += 1
                self.fed = time.monotonic()

    def stop(self):
        self.ended.set()
        if self.is_alive():
            self.join(20)
        self.socket.close()


class Case(threading.Thread):
    fault = ""          # a name for the table
    word = ""           # how what is told of the fault begins
    shown = ""          # what `clutchward status` says of it
    base = (0.0, "")    # what the configuration makes of the time until it is told, in seconds
    alarm_base = (0.0, "")
    alarm_bound, told_bound = SLACK, SLACK
    supervised = False
    watchdog = Supervisor.WATCHDOG
    cuts = False         # whether a line is cut
    outside_told = False  # whether the outside watcher must ring
    strikes_first = True  # whether the fault must strike before the alarm is due

    def __init__(self, receiver, makes_lines):
        super().__init__(daemon=True, name=type(self).__name__)
        self.receiver, self.makes_lines = receiver, makes_lines
        self.anew(1)

    def anew(self, turn):
        # Paths of its own: what an earlier turn was told is no matter of this one.
        self.case = f"{self.name.lower()}-{turn}"
        self.error, self.skipped, self.row, self.log = "", "", {}, ""
        self.cleanups, self.value = [], "37.5"
        self.at_fault = self.at_due = None
        self.too_late, self.notes = False, []

    # --- the site ---

    def later(self, deed):
        self.cleanups.append(deed)

    def run(self):
        for turn in (1, 2, 3):
            self.anew(turn)
            self.take_turn()
            if not self.too_late:
                return
            print(f"{self.name}: turn {turn}: {self.error.splitlines()[-1]}", flush=True)

    def take_turn(self):
        try:
            self.prepare()
            self.play()
        except SkipCase as why:
            self.skipped = str(why)
        except BaseException:  # noqa: B902: whatever it is, it is told by the main thread
            self.error = traceback.format_exc()
            if hasattr(self, "daemon_"):
                self.log = self.daemon_.log()[-6000:]
        finally:
            for deed in reversed(self.cleanups):
                with contextlib.suppress(Exception):
                    deed()

    def prepare(self):
        self.folder = tempfile.mkdtemp(prefix="blind-")
        self.later(lambda: shutil.rmtree(self.folder, ignore_errors=True))
        self.daemon_ = Daemon(self.folder)
        self.before()
        port = free_port()
        self.broker = Broker(self.folder, [f"listener {port} 0.0.0.0", "allow_anonymous true"], port)
        self.later(self.broker.kill)
        self.mail = Mail("0.0.0.0")
        self.later(self.mail.stop)
        self.watcher = watcher_of(self)
        self.settings = self.make_settings()
        self.change(self.settings)
        self.daemon_.configure(self.settings)
        self.phone = Phone(port)
        self.later(self.phone.stop)
        self.supervisor = None
        if self.supervised:
            self.supervisor = Supervisor(self.daemon_, self.folder, self.watchdog)
        self.later(self.end_daemon)
        self.launch()
        self.feeding = threading.Event()
        self.feeding.set()
        self.ended = threading.Event()
        self.later(self.ended.set)
        threading.Thread(target=self.feed, daemon=True).start()
        self.ready()

    def before(self):
        """Before anything is started."""

    def change(self, settings):
        """What this case wants otherwise."""

    def make_settings(self):
        self.inner, self.outer = self.makes_lines(self) if self.cuts else (Straight(), Straight())
        inner, outer = self.inner, self.outer
        self.later(inner.end)
        self.later(outer.end)
        smtp = {"url": f"smtp://{outer.host}:{outer.port(self.mail.port)}",
                "from": "clutchward@saltmere.example"}
        if outer.host != Straight.host:  # mail leaves the machine under TLS only
            smtp["ca_file"] = self.mail.with_tls(self.folder, outer.host)
        hooks = f"http://{outer.host}:{outer.port(self.receiver.port)}/{self.case}"
        return {
            "site": "Saltmere", "timezone": "Europe/Dublin",
            "broker": {"url": f"mqtt://{inner.host}:{inner.port(self.broker.port)}", "base": BASE},
            "patterns": [{"topic": "farm/{cabinet}/{probe}/temperature", "quantity": "temperature"}],
            "cabinets": {"setter-a": {"name": "Setter A"}},
            "rules": {"broker": {"after": "5s"}, "silent": {"after": "60s"},
                      "soon": {"kind": "above", "offset": 1.0, "delay": f"{DELAY:.0f}s",
                               "priority": "high"}},
            "profiles": {"bench-hen": {"name": "Domestic hen", "days": 21, "stages": [
                {"name": "setting", "from_day": 0, "target": 37.5}]}},
            "batches": [{"id": "hens-12", "profile": "bench-hen", "cabinet": "setter-a",
                         "set_at": hours_ago(72), "eggs": 48}],
            "contacts": {"mara": [{"webhook": hooks + "/mara"}, {"email": "mara@saltmere.example"}],
                         "jonas": [{"webhook": hooks + "/jonas"}]},
            "smtp": smtp,
            "gather": "0s",
            "escalation": [{"after": "0s", "notify": ["mara"]}, {"after": "5min", "notify": ["jonas"]}],
            "beats": [{"url": hooks + "/beat", "every": "10s"}],
            "watch": {"channel_fails": "8s", "channel_slow": "2s"},
        }

    def launch(self):
        mark = self.phone.mark()
        if self.supervisor:
            self.supervisor.launch()
        else:
            self.daemon_.start()
        self.wait_online(mark)

    def wait_online(self, mark):
        def online():
            if not self.supervisor:
                assert self.daemon_.alive(), "the daemon has ended"
            return next((each for each in self.phone.messages(f"{BASE}/status", mark)
                         if each["payload"] == b"online" and not each["retain"]), None)
        return wait_for("the daemon to be online", online)

    def ready(self):
        wait_for("the first beat", lambda: self.receiver.last_beat(f"/{self.case}/beat"))

    def end_daemon(self):
        if self.supervisor:
            self.supervisor.stop()
        if self.daemon_.alive():
            with contextlib.suppress(ProcessLookupError):
                self.daemon_.process.send_signal(signal.SIGCONT)
            self.daemon_.kill()

    def feed(self):
        """A probe that speaks every half second, whoever listens."""
        while not self.ended.wait(0.5):
            if self.feeding.is_set():
                self.phone.client.publish("farm/setter-a/top/temperature", self.value, qos=0)

    # --- the story ---

    def arm(self):
        """Too warm from now on: the alarm is due DELAY later."""
        self.value = "38.8"

        def pending():
            picture = self.phone.picture("setter-a")
            return next((each for each in (picture or {"alarms": []})["alarms"]
                         if each["alarm"] == "soon" and each["state"] == "pending"), None)
        since = unix_of(wait_for("the alarm to be pending", pending)["since"])
        self.at_due = time.monotonic() - (self.daemon_now() - since) + DELAY

    def daemon_now(self):
        return time.time()

    def play(self):
        self.arm()
        time.sleep(1)
        self.watcher.forget()  # a beat that came late is not of the fault
        self.produce()
        produced = time.monotonic()
        self.at_fault = self.at_fault or produced
        # Some count from when the alarm is due, but must have struck by then.
        if self.strikes_first and min(produced, self.at_fault) > self.at_due - 1:
            self.too_late = True
            raise AssertionError("a busy machine: the alarm was due before its fault had struck")
        self.watch()
        self.record()

    def produce(self):
        raise NotImplementedError

    def watch(self):
        """Waits until all that is to be told has been."""
        self.wait_for_fault()
        self.look()
        self.wait_for_alarm()

    def wait_for_fault(self):
        if self.word:
            wait_for(f"{self.word} to be told", lambda: self.first(self.word),
                     self.base[0] + self.told_bound + 60)
        if self.outside_told:
            wait_for("the outside watcher to ring", lambda: self.watcher.rang_at, PATIENCE + 60)

    def wait_for_alarm(self):
        wait_for("the alarm to be told", lambda: self.first("TOO HOT"),
                 DELAY + self.alarm_base[0] + self.alarm_bound + 60)
        time.sleep(0.7)  # the other channels

    def look(self):
        """What the keeper's command says meanwhile."""
        if not self.shown:
            return
        screen = ""

        def shows():
            nonlocal screen
            screen = subprocess.run([KEEPER, "status", "--state", self.daemon_.state],
                                    capture_output=True, text=True, timeout=60).stdout
            return self.shown in screen
        try:
            wait_for(f"{self.shown!r} in the status", shows, 60)
        except AssertionError:
            raise AssertionError(f"{self.shown!r} is not in\n{screen}") from None

    # --- the evidence ---

    def all_told(self):
        """[(monotonic, who, way, first line)] in order."""
        told = []
        for who in ("mara", "jonas"):
            for at, data in self.receiver.heard(f"/{self.case}/{who}"):
                told.append((at, who, "webhook", data["first_line"]))
        ago = time.time() - time.monotonic()
        for mail in list(self.mail.mails):
            who = mail["to"][0].split("@")[0]
            told.append((mail["at"] - ago, who, "email", mail["subject"]))
        return sorted(told)

    def told(self, word):
        """The first of each way whose line begins so."""
        found = {}
        for at, who, way, line in self.all_told():
            if line.startswith(word):
                found.setdefault((who, way), (at, line))
        return [{"who": who, "way": way, "at": at, "line": line}
                for (who, way), (at, line) in found.items()]

    def first(self, word):
        told = self.told(word)
        return min(each["at"] for each in told) if told else None

    def came_back_after(self, limit=60):
        """Monotonic time at which the daemon was online again."""
        ago = time.time() - time.monotonic()
        heard = wait_for("the daemon to be back", lambda: next(
            (each for each in self.phone.messages(f"{BASE}/status")
             if each["payload"] == b"online" and not each["retain"]
             and each["at"] - ago > self.at_fault), None), limit)
        return heard["at"] - ago

    def offline_told_after(self):
        ago = time.time() - time.monotonic()
        heard = wait_for("the broker to say offline", lambda: next(
            (each for each in self.phone.messages(f"{BASE}/status")
             if each["payload"] == b"offline" and each["at"] - ago > self.at_fault - 0.5), None), 60)
        return heard["at"] - ago - self.at_fault

    def fault_entries(self):
        """[(who and how, seconds after the fault)]"""
        entries = [(f"{each['who'].capitalize()} by {each['way']}", each["at"] - self.at_fault)
                   for each in (self.told(self.word) if self.word else [])]
        if self.outside_told:
            entries.append(("the outside watcher", self.watcher.rang_at - self.at_fault))
        return entries

    def alarm_from(self):
        """From when the alarm's lateness counts."""
        return self.at_due

    def blind(self):
        """Seconds in which a due alarm reached nobody and nobody knew that it could not."""
        return 0.0

    def record(self):
        alarm = [(f"{each['who'].capitalize()} by {each['way']}", each["at"] - self.alarm_from())
                 for each in self.told("TOO HOT")]
        faults = self.fault_entries()
        assert alarm, "nobody was told of the alarm"
        assert faults, "nobody was told of the fault"
        self.row = {"fault": self.fault, "alarm": alarm, "alarm_base": self.alarm_base,
                    "told": faults, "base": self.base, "blind": max(0.0, self.blind()),
                    "line": next((each["line"] for each in (self.told(self.word) if self.word else [])),
                                 ""), "notes": self.notes}
        late = min(at for _, at in alarm) - self.alarm_base[0]
        assert late < self.alarm_bound, f"the alarm came {late:.1f} s late: {self.row}"
        assert late > -1.5, f"the alarm came {-late:.1f} s early: {self.row}"
        soonest = min(at for _, at in faults) - self.base[0]
        assert soonest < self.told_bound, f"the fault was told {soonest:.1f} s late: {self.row}"


class SkipCase(Exception):
    pass


class Straight:
    """A line that nobody cuts."""

    host = "127.0.0.1"

    def port(self, port):
        return port

    def end(self):
        pass


def watcher_of(case):
    watcher = Watcher(case.receiver, f"/{case.case}/beat", PATIENCE)
    case.later(watcher.ended.set)
    return watcher


def command(case, do, **words):
    """A command over the daemon's own socket."""
    status, text = case.daemon_.ask("/api/command", "POST", json.dumps(
        {"id": f"{case.case}-{time.monotonic_ns()}", "by": "mara", "do": do, **words}))
    return status, json.loads(text)
