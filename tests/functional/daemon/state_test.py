"""Disks that lie, fill up or turn read-only: what can be kept is kept, and the keeper is told."""

import contextlib
import glob
import json
import os
import subprocess
import unittest

from harness import BASE, SiteTest, main, wait_for

SLOW_SYNC = os.environ.get("SLOW_SYNC_LIBRARY")
HAS_MOUNTS = subprocess.run(["unshare", "-m", "true"], capture_output=True,
                            check=False).returncode == 0


def flip(path, at):
    with open(path, "r+b") as file:
        file.seek(at)
        old = file.read(4)
        file.seek(at)
        file.write(bytes(byte ^ 0x15 for byte in old))


class DamageTest(SiteTest):
    def latch(self, cabinet):
        self.reading(39.9, cabinet=cabinet)
        self.event("raised", cabinet=cabinet)
        self.reading(37.5, cabinet=cabinet)
        self.state("latched", cabinet=cabinet)

    def start_two(self):
        self.settings["batches"].append({**self.settings["batches"][0], "cabinet": "setter-b",
                                         "id": "hens-13"})
        self.start()
        self.latch("setter-a")

    def told(self):
        mail = self.mail_with("PART OF THE STATE WAS DAMAGED")
        self.assertLessEqual(len(mail["subject"]), 80)
        wait_for("the file set aside", lambda: glob.glob(
            self.daemon.state + "/**/*.damaged-*", recursive=True))
        return mail

    def test_a_journal_damaged_in_its_middle(self):
        self.start_two()
        self.assertEqual(self.daemon.stop(), 0)  # setter-a stands in its checkpoint
        self.start()
        self.latch("setter-b")
        self.done("acknowledge", cabinet="setter-b", alarm="high")
        self.daemon.kill()
        journal = max(glob.glob(self.daemon.state + "/journal/*.yaml"))
        with open(journal, "rb") as file:
            text = file.read()
        flip(journal, text.index(b"setter-b", len(text) // 3))
        mark = self.phone.mark()
        self.start()
        self.assertIn(os.path.basename(journal), self.told()["text"])
        wait_for("the new picture", lambda: self.phone.messages(f"{BASE}/cabinets/setter-a", mark))
        self.state("latched")
        self.reading(39.9, cabinet="setter-b")
        self.event("raised", since=mark, cabinet="setter-b")

    def test_a_damaged_checkpoint_costs_its_own_cabinet_only(self):
        self.start_two()
        self.latch("setter-b")
        self.assertEqual(self.daemon.stop(), 0)
        files = [path for path in glob.glob(self.daemon.state + "/**/*.yaml", recursive=True)
                 if "setter-b" in os.path.basename(path)]
        self.assertTrue(files, os.listdir(self.daemon.state))
        for path in files:
            flip(path, os.path.getsize(path) // 2)
        mark = self.phone.mark()
        self.start()
        self.assertIn("setter-b", self.told()["text"])
        self.state("latched")
        self.reading(39.9, cabinet="setter-b")
        self.event("raised", since=mark, cabinet="setter-b")

    def test_a_state_of_rubbish_does_not_keep_the_watch_from_starting(self):
        self.start_two()
        self.assertEqual(self.daemon.stop(), 0)
        for path in glob.glob(self.daemon.state + "/**/*.yaml", recursive=True):
            with open(path, "wb") as file:
                file.write(os.urandom(2000))
        self.start()
        self.told()
        self.reading(37.5)
        self.reading(39.9)
        wait_for("the alarm", lambda: self.words().count("raised") == 2)


class OwnDiskTest(SiteTest):
    """The state on a disk of its own, seen by the daemon alone."""

    def own_disk(self, mounts):
        """`mounts` is a shell's words, "$0" the state folder; they hold for the daemon only."""
        if not HAS_MOUNTS:
            self.skipTest("no mount namespaces here: they need CAP_SYS_ADMIN")
        os.makedirs(self.daemon.state, exist_ok=True)
        self.daemon.wrapper = ["unshare", "-m", "sh", "-c", mounts + ' && exec "$@"',
                               self.daemon.state]

    def nsenter(self, *words):
        subprocess.run(["nsenter", "-t", str(self.daemon.process.pid), "-m", *words], check=True,
                       timeout=60)

    def goes_on(self):
        """An alarm is told by every way although it cannot be saved. Setter A has had none before."""
        self.assertEqual(self.words(), [])
        mark = self.phone.mark()
        self.reading(40.8)
        self.event("raised", since=mark)
        self.webhook_of("raised", cabinet="setter-a")
        self.mail_with("TOO HOT Setter A 40.8")
        self.done("acknowledge", cabinet="setter-a", alarm="high")
        self.state("acknowledged")

    def told_of_the_disk(self):
        mail = self.mail_with("THE STATE CANNOT BE SAVED at Saltmere. Look at the disk")
        self.assertTrue(mail["subject"].isascii())
        self.assertLessEqual(len(mail["subject"]), 80)

    def test_a_read_only_disk(self):
        self.settings["batches"].append({**self.settings["batches"][0], "cabinet": "setter-b",
                                         "id": "hens-13"})
        self.start()
        self.reading(39.9, cabinet="setter-b")
        self.event("raised", cabinet="setter-b")
        self.done("snooze", cabinet="setter-b", alarm="high", minutes=60)
        self.daemon.kill()
        self.own_disk('mount --bind "$0" "$0" && mount -o remount,ro,bind "$0"')
        mark = self.phone.mark()
        self.start()
        self.told_of_the_disk()
        # What it could read still holds, and what comes is told.
        wait_for("a picture of the new daemon", lambda: self.phone.messages(
            "clutchward/saltmere/cabinets/setter-b", mark))
        wait_for("the snooze", lambda: self.alarm(cabinet="setter-b").get("snoozed_until"))
        self.goes_on()
        self.assertTrue(self.daemon.sleeps())
        self.nsenter("mount", "-o", "remount,rw,bind", self.daemon.state)
        self.mail_with("OVER: THE STATE CANNOT BE SAVED")
        self.daemon.kill()
        self.daemon.wrapper = []
        mark = self.phone.mark()
        self.start()
        wait_for("the picture", lambda: self.phone.messages(
            "clutchward/saltmere/cabinets/setter-a", mark))
        self.state("acknowledged")

    @unittest.skipUnless(SLOW_SYNC and not os.environ.get("LD_PRELOAD"), "nothing to preload")
    def test_a_disk_that_does_not_answer(self):
        gate = os.path.join(self.folder, "hold-the-disk")
        self.daemon.environment = {"LD_PRELOAD": SLOW_SYNC, "SLOW_SYNC": gate}
        self.start()
        self.reading(37.5)
        with open(gate, "w", encoding="ascii"):
            pass
        self.goes_on()
        self.told_of_the_disk()
        os.remove(gate)
        self.mail_with("OVER: THE STATE CANNOT BE SAVED")
        self.restart()
        cabinet, = json.loads(self.daemon.ask("/api/cabinets")[1])
        self.assertEqual(next(each["state"] for each in cabinet["alarms"]
                              if each["alarm"] == "high"), "acknowledged")
        self.assertEqual(self.words(), ["raised", "acknowledged"])

    def test_a_full_disk(self):
        self.own_disk('mount -t tmpfs -o size=4m tmpfs "$0"')
        self.start()
        # From here on the test looks into the daemon's own disk.
        self.daemon.state = f"/proc/{self.daemon.process.pid}/root{self.daemon.state}"
        filler = os.path.join(self.daemon.state, "filler")

        def fill():
            with open(filler, "ab", buffering=0) as file, contextlib.suppress(OSError):
                while True:
                    file.write(b"x" * 4096)
        fill()
        self.goes_on()
        for turn in range(200):  # until the reserve, too, is used up
            if not self.daemon.watch()["store"]["writable"]:
                break
            fill()
            self.done("attended" if turn % 2 else "attend", cabinet="setter-a")
        self.told_of_the_disk()
        self.assertFalse(self.daemon.watch()["store"]["writable"])
        self.done("snooze", cabinet="setter-a", alarm="high", minutes=60)
        os.remove(filler)
        self.mail_with("OVER: THE STATE CANNOT BE SAVED")
        self.assertTrue(self.daemon.watch()["store"]["writable"])


if __name__ == "__main__":
    main()
