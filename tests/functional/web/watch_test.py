"""`clutchward watch`: on a terminal a screen that is redrawn where it changes and given back whole; in
a pipe a line for each change. A pseudo-terminal of the kernel stands for the keeper's."""

import codecs
import fcntl
import json
import os
import pathlib
import pty
import re
import select
import signal
import struct
import subprocess
import sys
import tempfile
import termios
import time
import unittest

sys.path.append(str(pathlib.Path(__file__).resolve().parents[2]))
from lines import LIMIT, read_line  # noqa: E402
from ports import free_port  # noqa: E402

CLUTCHWARD = os.environ["CLUTCHWARD"]


class Watch(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)
        self.serve()

    def serve(self):
        port = free_port()
        self.server = subprocess.Popen(
            [os.environ["SITE_SERVER"], self.folder.name, f"127.0.0.1:{port}"],
            stdout=subprocess.PIPE, text=True)
        self.addCleanup(self.end, self.server)
        assert read_line(self.server) == "ready\n"

    def end(self, server):
        server.kill()
        server.wait()
        server.stdout.close()

    def acknowledge(self):
        subprocess.run([CLUTCHWARD, "acknowledge", "setter-a", "--state", self.folder.name],
                       check=True, capture_output=True, timeout=LIMIT)

    def on_terminal(self, rows=40, columns=120, **environment):
        main, side = pty.openpty()
        fcntl.ioctl(side, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        process = subprocess.Popen([CLUTCHWARD, "watch", "--every", "0.2", "--state",
                                    self.folder.name], stdin=side, stdout=side, stderr=side,
                                   env={**os.environ, "TERM": "xterm", "NO_COLOR": "",
                                        **environment}, start_new_session=True)
        self.addCleanup(os.close, main)
        self.addCleanup(os.close, side)
        self.addCleanup(process.kill)
        return process, main

    def read(self, main, until, limit=LIMIT):
        seen, end = "", time.monotonic() + limit
        letters = codecs.getincrementaldecoder("utf-8")()  # a piece may end within one
        while until not in seen:
            self.assertLess(time.monotonic(), end, f"waited for {until!r}, saw {seen!r}")
            if select.select([main], [], [], 0.2)[0]:
                seen += letters.decode(os.read(main, 65536))
        return seen

    def quiet(self, main, seconds):
        seen, end = b"", time.monotonic() + seconds
        while time.monotonic() < end:
            if select.select([main], [], [], 0.1)[0]:
                seen += os.read(main, 65536)
        return seen

    def test_it_redraws_on_change_and_gives_the_terminal_back(self):
        process, main = self.on_terminal()
        first = self.read(main, "The watch")
        self.assertTrue(first.startswith("\033[?1049h\033[?25l"))
        self.assertIn("\033[1;31mNEEDS YOU", first)
        # Nothing changes: nothing is written, once all that was begun is.
        end = time.monotonic() + LIMIT
        while self.quiet(main, 1.5):
            self.assertLess(time.monotonic(), end, "it goes on writing")
        self.acknowledge()
        changed = self.read(main, "has it since 09:12")
        self.assertNotIn("hatcher-1", changed.split("in hand")[0])
        self.assertNotIn("\033[2J", changed)
        process.send_signal(signal.SIGINT)
        last = self.read(main, "\033[?1049l")
        self.assertTrue(last.endswith("\033[?25h\033[?1049l"))
        self.assertEqual(process.wait(LIMIT), 0)

    def test_it_fits_the_terminal_whatever_its_size(self):
        process, main = self.on_terminal(rows=8, columns=30)
        seen = self.read(main, "lines more")
        for row, text in re.findall(r"\033\[(\d+);1H((?:(?!\033\[\d+;1H).)*)", seen):
            self.assertLessEqual(int(row), 8)
            self.assertLessEqual(len(re.sub(r"\033\[[0-9;?]*[a-zA-Z]", "", text)), 30)
        fcntl.ioctl(main, termios.TIOCSWINSZ, struct.pack("HHHH", 40, 120, 0, 0))
        process.send_signal(signal.SIGWINCH)
        self.read(main, "The watch")
        process.terminate()
        self.assertEqual(process.wait(LIMIT), 0)

    def test_no_colour_where_none_is_wanted(self):
        process, main = self.on_terminal(NO_COLOR="1")
        self.assertNotIn("\033[1;31m", self.read(main, "The watch"))
        process.terminate()
        process.wait(LIMIT)

    def test_a_daemon_that_goes_is_said_and_its_last_picture_kept(self):
        process, main = self.on_terminal()
        self.read(main, "The watch")
        self.server.terminate()
        self.server.wait()
        gone = self.read(main, "What was seen last")
        self.assertIn("cannot be reached", gone)
        process.terminate()
        self.assertEqual(process.wait(LIMIT), 0)

    def piped(self, *more):
        process = subprocess.Popen([CLUTCHWARD, "watch", "--every", "0.2", "--state",
                                    self.folder.name, *more], stdout=subprocess.PIPE,
                                   stderr=subprocess.PIPE, text=True)
        self.addCleanup(process.stderr.close)
        self.addCleanup(process.stdout.close)
        self.addCleanup(process.kill)
        return process

    def test_a_pipe_gets_a_line_for_each_change(self):
        process = self.piped()
        lines = [read_line(process) for _ in range(5)]
        self.assertNotIn("\033", "".join(lines))
        hot, = [line for line in lines if "  setter-a  " in line]
        self.assertRegex(hot, r"^2026-03-13T09:12:05\.000Z  setter-a  Setter A: 39\.8 .C rising; "
                              r"high of hens-setter-a unacknowledged")
        self.acknowledge()
        self.assertIn("high of hens-setter-a acknowledged", read_line(process))
        process.send_signal(signal.SIGINT)
        self.assertEqual(process.stdout.read(), "")
        self.assertEqual(process.wait(LIMIT), 0)

    def test_json_is_a_line_for_each_change(self):
        process = self.piped("--json")
        self.assertEqual(json.loads(read_line(process))["watch"]["site"], "Saltmere")
        self.acknowledge()
        again = json.loads(read_line(process))
        hot, = [each for each in again["cabinets"] if each["cabinet"] == "setter-a"]
        self.assertEqual(hot["alarms"][0]["state"], "acknowledged")
        process.terminate()
        self.assertEqual(process.wait(LIMIT), 0)

    def test_a_reader_that_leaves_ends_it(self):
        process = self.piped()
        read_line(process)
        process.stdout.close()
        self.acknowledge()
        self.assertEqual(process.wait(LIMIT), 0)

    def test_without_a_daemon(self):
        with tempfile.TemporaryDirectory() as empty:
            done = subprocess.run([CLUTCHWARD, "watch", "--state", empty], capture_output=True,
                                  text=True, timeout=LIMIT)
        self.assertEqual((done.returncode, done.stdout), (69, ""))
        self.assertIn("cannot be reached", done.stderr)
        done = subprocess.run([CLUTCHWARD, "watch", "--every", "0"], capture_output=True, text=True,
                              timeout=LIMIT)
        self.assertEqual(done.returncode, 64)


if __name__ == "__main__":
    unittest.main(verbosity=1)
