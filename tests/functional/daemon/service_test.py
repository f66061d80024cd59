"""The daemon as a service: what it tells systemd, its unit, and what an installation lays where."""

import glob
import os
import shutil
import signal
import socket
import subprocess
import tempfile
import unittest

from harness import ROOT, SiteTest, main, wait_for

BUILD = os.environ.get("CLUTCHWARD_BUILD", os.path.join(ROOT, "build/dev"))
UNIT = os.path.join(ROOT, "systemd/clutchward.service")


class NotifyTest(SiteTest):
    def setUp(self):
        super().setUp()
        self.socket = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self.addCleanup(self.socket.close)
        path = os.path.join(self.folder, "notify.sock")
        self.socket.bind(path)
        self.socket.setblocking(False)
        self.heard = []
        self.daemon.environment = {"NOTIFY_SOCKET": path, "WATCHDOG_USEC": "900000"}

    def told(self, word, count=1):
        def heard():
            try:
                while True:
                    self.heard += self.socket.recv(4096).decode().splitlines()
            except BlockingIOError:
                pass
            return sum(line.startswith(word) for line in self.heard) >= count
        wait_for(f"{word} {count} times", heard)

    def test_ready_watchdog_reload_and_stop(self):
        self.start()
        self.told("READY=1")
        self.told("WATCHDOG=1", 4)
        self.told("STATUS=1 cabinets, broker connected, state saved")
        self.daemon.process.send_signal(signal.SIGHUP)
        self.told("RELOADING=1")
        self.told("MONOTONIC_USEC=")
        self.told("READY=1", 2)
        self.assertEqual(self.daemon.stop(), 0)
        self.told("STOPPING=1")

    def test_ready_does_not_wait_for_the_broker(self):
        self.broker.kill()
        self.daemon.configure(self.settings)
        self.daemon.start()
        self.told("READY=1")
        self.told("STATUS=1 cabinets, broker away")


class UnitTest(unittest.TestCase):
    def test_systemd_takes_the_unit(self):
        run = subprocess.run(["systemd-analyze", "verify", UNIT], capture_output=True, text=True,
                             timeout=120)
        # The program may not be installed where the test runs; that alone may be said of our unit.
        ours = [line for line in run.stderr.splitlines()
                if "clutchward" in line and "is not executable: No such file" not in line]
        self.assertEqual(ours, [])

    def test_the_service_is_locked_in(self):
        run = subprocess.run(["systemd-analyze", "security", "--offline=true", "--threshold=15",
                              "--no-pager", UNIT], capture_output=True, text=True, timeout=120)
        if "unrecognized option" in run.stderr:
            self.skipTest("this systemd-analyze cannot judge a unit offline")
        self.assertEqual(run.returncode, 0, run.stdout[-600:] + run.stderr)


class InstallTest(unittest.TestCase):
    def setUp(self):
        self.root = tempfile.mkdtemp(prefix="clutchward-install-")
        self.addCleanup(shutil.rmtree, self.root)

    def install(self):
        run = subprocess.run(["cmake", "--install", BUILD, "--prefix", "/usr"],
                             env={**os.environ, "DESTDIR": self.root}, capture_output=True,
                             text=True, timeout=120)
        self.assertEqual(run.returncode, 0, run.stderr)

    def test_everything_lies_in_its_place(self):
        self.install()
        for name in ("clutchwardd", "clutchward", "cabinet-sim"):
            self.assertTrue(os.access(f"{self.root}/usr/bin/{name}", os.X_OK), name)
        there = {os.path.basename(path)
                 for path in glob.glob(f"{self.root}/usr/share/clutchward/profiles/*")}
        shipped = {os.path.basename(path)
                   for path in glob.glob(os.path.join(ROOT, "config/profiles/*.yaml"))}
        self.assertEqual(there, shipped)
        units = glob.glob(f"{self.root}/**/systemd/system/clutchward.service", recursive=True)
        self.assertEqual(len(units), 1)
        self.assertTrue(glob.glob(f"{self.root}/**/sysusers.d/clutchward.conf", recursive=True))
        config = f"{self.root}/etc/clutchward/clutchward.yaml"
        # The shipped configuration and the installed profiles pass their own check.
        run = subprocess.run([f"{self.root}/usr/bin/clutchwardd", "--check", "--config", config],
                             env={**os.environ, "CLUTCHWARD_PROFILES":
                                  f"{self.root}/usr/share/clutchward/profiles"},
                             capture_output=True, text=True, timeout=60)
        self.assertEqual(run.returncode, 0, run.stderr)

    def test_a_configuration_that_is_there_stays(self):
        os.makedirs(f"{self.root}/etc/clutchward")
        config = f"{self.root}/etc/clutchward/clutchward.yaml"
        with open(config, "w", encoding="utf-8") as file:
            file.write("site: Mara's own\n")
        self.install()
        with open(config, encoding="utf-8") as file:
            self.assertEqual(file.read(), "site: Mara's own\n")


if __name__ == "__main__":
    main()
