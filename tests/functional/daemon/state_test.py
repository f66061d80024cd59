"""Disks that lie, fill up or turn read-only: what can be kept is kept, and the keeper is told."""

import glob
import os
import subprocess
import unittest

from harness import SiteTest, main, wait_for

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
        self.start()
        self.assertIn(os.path.basename(journal), self.told()["text"])
        self.state("latched")
        self.reading(39.9, cabinet="setter-b")
        self.event("raised", cabinet="setter-b")

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


@unittest.skipUnless(HAS_MOUNTS, "no mount namespaces here: needs CAP_SYS_ADMIN")
class FullDiskTest(SiteTest):
    """The state on a small disk of its own, seen by the daemon alone."""

    def setUp(self):
        super().setUp()
        os.mkdir(self.daemon.state)
        script = 'mount -t tmpfs -o size=4m tmpfs "$0" && exec "$@"'
        self.daemon.wrapper = ["unshare", "-m", "sh", "-c", script, self.daemon.state]
        self.start()
        # From here on the tests look into the daemon's own disk.
        self.place, self.daemon.state = (
            self.daemon.state, f"/proc/{self.daemon.process.pid}/root{self.daemon.state}")

    def nsenter(self, *words):
        subprocess.run(["nsenter", "-t", str(self.daemon.process.pid), "-m", *words], check=True,
                       timeout=60)

    def goes_on(self):
        """An alarm is told by every way although it cannot be saved."""
        self.reading(37.5)
        self.reading(39.9)
        self.event("raised")
        self.webhook_of("raised")
        self.mail_with("TOO HOT")
        self.done("acknowledge", cabinet="setter-a", alarm="high")

    def told_of_the_disk(self):
        mail = self.mail_with("THE STATE CANNOT BE SAVED at Saltmere")
        self.assertTrue(mail["subject"].isascii())
        self.assertFalse(self.daemon.watch()["store"]["writable"])

    def test_a_read_only_disk(self):
        self.nsenter("mount", "-o", "remount,ro", self.place)
        self.goes_on()
        self.told_of_the_disk()
        self.nsenter("mount", "-o", "remount,rw", self.place)
        self.mail_with("OVER: THE STATE CANNOT BE SAVED")
        self.assertTrue(self.daemon.watch()["store"]["writable"])

    def test_a_full_disk(self):
        filler = os.path.join(self.daemon.state, "filler")

        def fill():
            with open(filler, "ab", buffering=0) as file:
                try:
                    while True:
                        file.write(b"x" * 4096)
                except OSError:
                    pass
        fill()
        self.goes_on()
        for value in range(200):  # until the reserve, too, is used up
            if not self.daemon.watch()["store"]["writable"]:
                break
            fill()
            self.done("attend" if value % 2 == 0 else "attended", cabinet="setter-a")
        self.told_of_the_disk()
        os.remove(filler)
        self.mail_with("OVER: THE STATE CANNOT BE SAVED")
        # What happened meanwhile is saved now.
        self.state("acknowledged")


if __name__ == "__main__":
    main()
