"""After a restart: how long nobody watched, and which faults of the watch stood before it."""

import contextlib
import datetime
import http.server
import os
import struct
import threading
import time
import unittest
import zoneinfo

from harness import Closed, SiteTest, main, unix_of, wait_for

HOUR = 3600


class Stepped(SiteTest):
    """With a wall clock that can be set for the daemon alone."""

    def setUp(self):
        super().setUp()
        library = os.environ.get("STEP_CLOCK_LIBRARY")
        if not library:
            self.skipTest("no clock that can be stepped in this build")
        self.clock = os.path.join(self.folder, "clock")
        with open(self.clock, "wb") as file:
            file.write(bytes(8))
        self.daemon.environment = {"LD_PRELOAD": library, "STEP_CLOCK": self.clock}

    def step(self, seconds):
        with open(self.clock, "r+b") as file:
            file.write(struct.pack("=q", seconds))

    def seen_alive(self):
        """When the daemon says that it was alive."""
        path = os.path.join(self.daemon.state, "alive")

        def read():
            with contextlib.suppress(FileNotFoundError), open(path, encoding="ascii") as file:
                return [line for line in file if line.startswith("at: ")]
        return wait_for("a sign of life", read)[0][4:].strip()

    def away(self):
        return [mail for mail in self.mail.mails
                if mail["subject"].startswith("THE WATCH WAS AWAY")]

    def faults(self):
        return [fault["what"] for fault in self.daemon.watch()["faults"]]


class AwayTest(Stepped):
    def test_a_night_without_power_is_told_once(self):
        self.start()
        self.reading(37.5)
        self.seen_alive()
        self.daemon.kill()
        since, killed = unix_of(self.seen_alive()), time.time()
        self.step(4 * HOUR + 1800)
        self.start()
        text = wait_for("word of the absence", self.away)[0]["text"]
        self.assertRegex(text, r"\(4h 3[0-3]min\)")  # until it had started again
        # From the last sign of life, or from what was saved after it.
        minutes = {datetime.datetime.fromtimestamp(at, zoneinfo.ZoneInfo("Europe/Dublin"))
                   .strftime("%H:%M") for at in (since, (since + killed) / 2, killed)}
        self.assertRegex(text, rf"Nothing was watched from [^.]*?({'|'.join(minutes)}) to ")
        self.assertEqual(len(self.faults()), 1)
        # It is shown after another restart as well, and not told again.
        wait_for("the outbox to be empty", lambda: self.daemon.watch()["waiting_messages"] == 0)
        self.assertEqual(self.daemon.stop(), 0)  # a crash may repeat a message
        self.start()
        self.assertEqual(len(self.faults()), 1)
        self.assertTrue(self.faults()[0].startswith("THE WATCH WAS AWAY"))
        self.reading(39.9)
        self.mail_with("TOO HOT")
        self.assertEqual(len(self.away()), 1)

    def test_a_restart_is_no_absence(self):
        self.start()
        self.reading(37.5)
        self.seen_alive()
        self.restart()
        self.reading(39.9)
        self.mail_with("TOO HOT")
        self.assertEqual((self.away(), self.faults()), ([], []))

    @unittest.skipIf(os.path.exists("/run/systemd/timesync/synchronized"),
                     "a time service vouches for this machine's clock")
    def test_a_clock_that_is_not_set_yet_says_nothing(self):
        self.start()
        self.reading(37.5)
        self.seen_alive()
        self.daemon.kill()
        self.step(-72 * HOUR)
        self.start()
        self.reading(37.5)
        self.assertFalse(self.daemon.watch()["clock_trusted"])
        self.assertEqual((self.away(), self.faults()), ([], []))
        self.step(5 * HOUR)
        text = wait_for("word of the absence", self.away)[0]["text"]
        self.assertRegex(text, r"\((4h 59min|5h|5h [1-3]min)\)")

    @unittest.skipIf(os.path.exists("/run/systemd/timesync/synchronized"),
                     "a time service vouches for this machine's clock")
    def test_a_clock_that_stood_still_with_the_power_is_seen_through(self):
        self.start()
        self.reading(37.5)
        self.seen_alive()
        self.daemon.kill()
        self.start()  # the clock goes on where it stopped
        self.reading(37.5)
        self.assertEqual(self.away(), [])
        self.step(6 * HOUR)  # the network is back
        text = wait_for("word of the absence", self.away)[0]["text"]
        self.assertRegex(text, r"\((5h 59min|6h|6h [1-3]min)\)")


class Taker(http.server.BaseHTTPRequestHandler):
    def do_POST(self):
        self.rfile.read(int(self.headers["Content-Length"]))
        self.send_response(200)
        self.end_headers()

    def log_message(self, *_):
        pass


class FaultsTest(SiteTest):
    def test_a_channel_that_fails_over_a_restart_rings_once(self):
        closed = Closed()
        self.addCleanup(closed.close)
        self.settings["watch"] = {"channel_fails": "2s"}
        self.settings["contacts"]["mara"][0]["webhook"] = f"http://127.0.0.1:{closed.port}/200"
        self.start()
        self.reading(39.9)
        self.mail_with("A CHANNEL FAILS (mara by webhook)")

        def fault():
            return next((each for each in self.daemon.watch()["faults"]
                         if each["what"].startswith("A CHANNEL FAILS")), None)
        before = fault()
        wait_for("the mail to be taken", lambda: self.daemon.watch()["channels"][1]["waiting"] == 0)
        self.assertEqual(self.daemon.stop(), 0)  # a crash may repeat a message
        self.start()
        self.assertEqual(fault()["since"], before["since"])
        # It fails again for long enough to be found again, and is not told again.
        # Tries lie ever further apart.
        wait_for("more tries", lambda: self.daemon.watch()["channels"][0]["failed"] >= 4, 300)
        time.sleep(1.5)
        self.assertEqual(fault()["since"], before["since"])

        def fails():
            return [mail for mail in self.mail.mails
                    if mail["subject"].startswith("A CHANNEL FAILS")]
        self.assertEqual(len(fails()), 1)
        # Another start, and this time somebody listens: over for certain, at once.
        self.daemon.kill()
        closed.close()
        server = http.server.HTTPServer(("127.0.0.1", closed.port), Taker)
        self.addCleanup(server.server_close)
        self.addCleanup(server.shutdown)
        threading.Thread(target=server.serve_forever, daemon=True).start()
        self.start()
        self.mail_with("OVER: A CHANNEL FAILS (mara by webhook)", 300)
        self.assertIsNone(fault())
        self.assertEqual(len(fails()), 1)


if __name__ == "__main__":
    main()
