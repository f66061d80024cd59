"""Faults of the daemon and of the machine that it runs on: process, disk, clock, state."""

import contextlib
import glob
import json
import os
import shutil
import signal
import struct
import subprocess
import time

from case import PATIENCE, SLACK, Case, Daemon, SkipCase, Supervisor, wait_for

DAY = 24 * 3600
STEP_CLOCK = os.environ.get("STEP_CLOCK_LIBRARY", "")
HAS_MOUNTS = subprocess.run(["unshare", "-m", "true"], capture_output=True,
                            check=False).returncode == 0


class DaemonKilled(Case):
    fault = "the daemon dies, systemd starts it again"
    supervised = True
    base = (0.0, "")

    def produce(self):
        self.at_fault = time.monotonic()  # before it: the broker says so at once
        self.daemon_.process.kill()

    def watch(self):
        self.offline = self.offline_told_after()
        self.back = self.came_back_after()
        self.wait_for_alarm()

    def fault_entries(self):
        return [("whoever listens to .../status", self.offline)]

    def blind(self):
        return self.back - self.at_fault


class DaemonDead(Case):
    fault = "the daemon dies and stays dead"
    outside_told = True
    base = (PATIENCE, "the watcher's patience")
    alarm_base = (0.0, "from the restart:")
    alarm_bound = SLACK + 2

    def produce(self):
        self.at_fault = time.monotonic()
        self.daemon_.kill()

    def watch(self):
        self.offline = self.offline_told_after()
        self.wait_for_fault()
        time.sleep(max(0, self.at_due + 2 - time.monotonic()))
        assert self.first("TOO HOT") is None, "a dead daemon has told"
        self.started = time.monotonic()
        self.daemon_.start()
        self.wait_for_alarm()

    def alarm_from(self):
        return self.started

    def fault_entries(self):
        return [("whoever listens to .../status", self.offline), *super().fault_entries()]

    def record(self):
        super().record()
        # The beat before the fault may be as old as one interval.
        assert self.watcher.rang_at - self.at_fault < PATIENCE + SLACK / 2

    def blind(self):
        return self.watcher.rang_at - self.at_fault


class DaemonFrozen(Case):
    fault = "the daemon hangs, systemd's watchdog ends it"
    supervised = True
    base = (Supervisor.WATCHDOG + Supervisor.STOP, "WatchdogSec + TimeoutStopSec")

    def produce(self):
        self.daemon_.process.send_signal(signal.SIGSTOP)
        self.at_fault = time.monotonic()
        limit = Supervisor.WATCHDOG + Supervisor.STOP + Supervisor.RESTART
        self.alarm_bound = max(0.0, self.at_fault + limit - self.at_due) + SLACK

    def watch(self):
        wait_for("the watchdog to end it", lambda: self.supervisor.killed, 60)
        self.back = self.came_back_after()
        self.wait_for_alarm()

    def fault_entries(self):
        return [("systemd", self.supervisor.killed[0] - self.at_fault)]

    def blind(self):
        return self.back - self.at_fault


class LoopLate(Case):
    fault = "the machine stands still for 17 s and goes on"
    word = "THE WATCH RUNS LATE"
    shown = "THE WATCH RUNS LATE since"
    outside_told = True
    base = (17.0, "the standstill")
    alarm_base = (0.0, "from when it goes on:")

    def produce(self):
        self.daemon_.process.send_signal(signal.SIGSTOP)
        self.at_fault = time.monotonic()
        time.sleep(17)
        self.daemon_.process.send_signal(signal.SIGCONT)
        self.on_again = time.monotonic()

    def alarm_from(self):
        return self.on_again

    def blind(self):
        return self.watcher.rang_at - self.at_fault


class DiskFull(Case):
    fault = "the disk is full"
    word = "THE STATE CANNOT BE SAVED"
    shown = "What happens now cannot be saved"
    supervised = True
    watchdog = 12.0  # what is no hang must not look like one on a busy machine
    outside_told = True
    told_bound = SLACK + 4

    def before(self):
        state = self.daemon_.state
        os.makedirs(state)
        if HAS_MOUNTS:
            # Outlives the daemon, as a disk does.
            disk = subprocess.Popen(["unshare", "-m", "sh", "-c",
                                     'mount -t tmpfs -o size=4m tmpfs "$0" && touch "$0/.there" && '
                                     "exec sleep 900", state])
            self.later(disk.kill)
            self.disk = f"/proc/{disk.pid}/root{state}"
            wait_for("the disk", lambda: os.path.exists(self.disk + "/.there"))
            self.daemon_.wrapper = ["nsenter", "-t", str(disk.pid), "-m"]
        else:
            self.notes.append("no mount namespaces here: a limit on the size of files instead")
            self.daemon_.wrapper = ["sh", "-c", 'trap "" XFSZ; exec "$@"', "sh"]

    def look(self):
        # The control socket is seen from the daemon's own disk.
        own, self.daemon_.state = self.daemon_.state, getattr(self, "disk", self.daemon_.state)
        try:
            super().look()
        finally:
            self.daemon_.state = own

    def ask(self, path, body=None):
        """Over the control socket: a second daemon object that looks from the other side."""
        other = Daemon(self.folder)
        other.state = getattr(self, "disk", self.daemon_.state)
        return other.ask(path, "POST" if body else "GET", body)

    def produce(self):
        self.at_fault = time.monotonic()
        if not HAS_MOUNTS:
            subprocess.run(["prlimit", "--pid", str(self.daemon_.process.pid), "--fsize=0"],
                           check=True)
            return
        self.filler = os.path.join(self.disk, "filler")
        for turn in range(200):  # until the reserve, too, is used up
            with open(self.filler, "ab", buffering=0) as file, contextlib.suppress(OSError):
                while True:
                    file.write(b"x" * 4096)
            if not json.loads(self.ask("/api/watch")[1])["store"]["writable"]:
                return
            self.ask("/api/command", json.dumps({"id": f"fill-{turn}", "by": "mara", "do":
                     "attended" if turn % 2 else "attend", "cabinet": "setter-a"}))

    def watch(self):
        super().watch()
        # Long enough for a watchdog that is not fed.
        time.sleep(max(0, self.at_fault + self.watchdog * 2 + 4 - time.monotonic()))
        assert not self.supervisor.killed, \
            "a full disk, which no restart mends, has the watchdog end the daemon and forget its alarms"


class Stepped(Case):
    """The wall clock of the daemon alone is stepped."""

    word = "THE CLOCK WAS STEPPED"
    shown = "THE CLOCK WAS STEPPED"
    told_bound = SLACK + 10  # the loop looks at itself every ten seconds
    step = 0

    def before(self):
        if not STEP_CLOCK or os.environ.get("LD_PRELOAD"):
            raise SkipCase("no STEP_CLOCK_LIBRARY to preload (a sanitizer's build has none)")
        self.clock = os.path.join(self.folder, "clock")
        self.set_clock(0)
        self.daemon_.environment = {"LD_PRELOAD": STEP_CLOCK, "STEP_CLOCK": self.clock}

    def set_clock(self, seconds):
        self.offset = seconds
        with open(self.clock, "r+b" if os.path.exists(self.clock) else "wb", buffering=0) as file:
            file.write(struct.pack("=q", seconds))

    def daemon_now(self):
        return time.time() + self.offset

    def produce(self):
        self.set_clock(self.step)
        self.at_fault = time.monotonic()


class ClockForward(Stepped):
    fault = "the clock is stepped forward by a day"
    step = DAY


class ClockBack(Stepped):
    fault = "the clock is stepped back by a day"
    step = -DAY


class ClockNotSet(Stepped):
    fault = "a start in the past: nobody has set the clock"
    word = "THE CLOCK IS NOT SET"
    shown = "The clock of this machine has not been set"
    base = (120.0, "2 min after the start")
    lost = -20 * 365 * DAY

    def change(self, settings):
        settings["timezone"] = "UTC"

    def launch(self):
        # The eggs are set while the clock is right; then comes a power cut.
        super().launch()
        wait_for("the batch", lambda: (self.phone.picture("setter-a") or {}).get("batches"))
        self.daemon_.kill()
        self.set_clock(self.lost)
        # The daily line and the planned test wait for a clock: they would be due meanwhile.
        at = time.strftime("%H:%M", time.gmtime(self.daemon_now() + 90))
        self.settings["daily"] = {"at": at, "notify": ["jonas"]}
        self.settings["watch"]["test"] = {"on": "daily", "at": at, "notify": ["jonas"]}
        self.daemon_.configure(self.settings)
        self.started = time.monotonic()
        super().launch()

    def produce(self):
        self.at_fault = self.started

    def watch(self):
        super().watch()
        assert not [each for each in self.all_told() if each[1] == "jonas"], \
            "a calendar that did not wait for the clock"
        self.set_clock(0)
        wait_for("the end of it", lambda: self.first("OVER: THE CLOCK IS NOT SET"))
        assert self.first("THE CLOCK WAS STEPPED") is None, "told of the setting that was waited for"


class StateDamaged(Case):
    fault = "part of the state is damaged"
    word = "PART OF THE STATE WAS DAMAGED"
    shown = "PART OF THE STATE WAS DAMAGED"
    # Nothing is left of the delay that ran: it begins anew with the next reading.
    alarm_bound = 10 + SLACK

    def produce(self):
        self.daemon_.kill()
        for path in glob.glob(self.daemon_.state + "/**/*.yaml", recursive=True):
            with open(path, "r+b") as file:
                file.write(b"\x15" * min(4000, os.path.getsize(path)))
        self.at_fault = time.monotonic()
        self.daemon_.start()

    def blind(self):
        return self.came_back_after() - self.at_fault


class ReadingsLost(Case):
    fault = "more messages than can be taken"
    word = "READINGS ARE LOST"
    shown = "READINGS ARE LOST since"
    told_bound = SLACK + 12  # counted every ten seconds

    def before(self):
        if not shutil.which("strace") or os.environ.get("LD_PRELOAD"):
            raise SkipCase("no strace to hold the loop with")

    def produce(self):
        # The loop alone is held for a while; the MQTT library goes on taking.
        pid = str(self.daemon_.process.pid)
        hold = subprocess.Popen(
            ["strace", "-qq", "-o", "/dev/null", "-p", pid, "-e", "trace=epoll_wait,epoll_pwait,poll,ppoll",
             "-e", "inject=epoll_wait,epoll_pwait,poll,ppoll:delay_enter=8000000:when=1"])
        self.later(hold.kill)
        wait_for("strace to hold it", lambda: "TracerPid:\t0" not in
                 open(f"/proc/{pid}/status", encoding="ascii").read())
        time.sleep(0.3)
        self.at_fault = time.monotonic()
        for i in range(900):
            self.phone.client.publish(f"farm/setter-a/p{i % 50}/temperature", b"9" * 8000, qos=0)
        time.sleep(9)
        hold.send_signal(signal.SIGINT)
        hold.wait(60)


class Strangers(Case):
    fault = "more cabinets than max_cabinets"
    word = "SOME CABINETS ARE NOT WATCHED"
    shown = "SOME CABINETS ARE NOT WATCHED since"
    told_bound = SLACK + 10

    def change(self, settings):
        settings["max_cabinets"] = 1

    def produce(self):
        self.phone.publish("farm/setter-z/top/temperature", "37.5")
        self.at_fault = time.monotonic()


CASES = [DaemonKilled, DaemonDead, DaemonFrozen, LoopLate, DiskFull, ClockForward, ClockBack,
         ClockNotSet, StateDamaged, ReadingsLost, Strangers]
