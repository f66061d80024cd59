"""The keeper's command against the running daemon."""

import json
import os
import signal
import subprocess

from harness import KEEPER, SiteTest, main, wait_for

USAGE, REFUSED, UNAVAILABLE = 64, 65, 69  # sysexits.h


class KeeperTest(SiteTest):
    def clutchward(self, *words, code=0):
        """(standard output, standard error) of the command as the keeper types it."""
        run = subprocess.run([KEEPER, *words, "--state", self.daemon.state], capture_output=True,
                             text=True, timeout=60, env={**os.environ, "USER": "mara"})
        self.assertEqual(run.returncode, code, (words, run.stdout, run.stderr))
        return run.stdout, run.stderr

    def raise_high(self):
        self.start()
        self.reading(37.5)
        self.reading(39.8)
        self.event("raised")

    def test_from_the_look_to_the_reset(self):
        self.raise_high()
        screen, _ = self.clutchward("status")
        for part in ("setter-a", "39.8", "39.5", "hens-12"):
            self.assertIn(part, screen)
        both = json.loads(self.clutchward("status", "--json")[0])
        self.assertEqual(both["watch"]["intake"]["accepted"], 2)
        self.assertEqual([each["cabinet"] for each in both["cabinets"]], ["setter-a"])
        self.clutchward("acknowledge", "setter-a", "high")
        self.assertEqual(self.event("acknowledged")["by"], "mara")
        self.clutchward("snooze", "setter-a", "high", "--minutes", "45", "--by", "jonas")
        self.assertEqual(self.event("snoozed")["by"], "jonas")
        _, why = self.clutchward("reset", "--cabinet", "setter-a", "--alarm", "high", code=REFUSED)
        self.assertIn("still active: 39.8 °C is above 39.5 °C; reset it once it has returned", why)
        self.clutchward("unsnooze", "setter-a", "high")
        self.event("raised_again")
        self.reading(37.5)
        self.state("latched")
        reply = json.loads(self.clutchward("reset", "setter-a", "high", "--json")[0])
        self.assertTrue(reply["ok"])
        self.state("normal")

    def test_batches(self):
        self.start()
        self.clutchward("batch", "start", "ducks-3", "setter-b", "--profile", "bench-hen",
                        "--set-at", self.set_at, "--eggs", "12")
        wait_for("the batch", lambda: (self.phone.picture("setter-b") or {}).get("batches"))
        self.clutchward("batch", "move", "ducks-3", "setter-a")
        wait_for("both batches", lambda: {each["batch"] for each in (
            self.phone.picture("setter-a") or {"batches": []})["batches"]} == {"hens-12", "ducks-3"})
        self.clutchward("batch", "end", "ducks-3")
        wait_for("the one batch", lambda: [each["batch"] for each in self.phone.picture(
            "setter-a")["batches"]] == ["hens-12"])

    def test_without_a_broker(self):
        self.raise_high()
        self.broker.kill()
        wait_for("the loss to be noticed", lambda: not self.daemon.watch()["broker"]["linked"])
        self.clutchward("status")
        self.clutchward("acknowledge", "setter-a", "high")
        cabinet, = json.loads(self.clutchward("status", "--json")[0])["cabinets"]
        self.assertEqual(next(each["state"] for each in cabinet["alarms"]
                              if each["alarm"] == "high"), "acknowledged")
        # What was done meanwhile is published once the broker is back.
        self.broker.start()
        self.state("acknowledged")

    def test_message_test(self):
        self.start()
        self.clutchward("message-test", "mara")
        self.mail_with("TEST Saltmere, asked for by Mara")
        self.hooked(1)

    def test_what_cannot_be_done_is_said(self):
        _, why = self.clutchward("status", code=UNAVAILABLE)
        self.assertGreater(len(why), 20)
        self.start()
        _, why = self.clutchward("acknowledge", "setter-q", code=REFUSED)
        self.assertIn("setter-q", why)
        self.clutchward("acknowledge", "setter-a", "--minuts", "3", code=USAGE)
        self.clutchward("snooze", "setter-a", "high", "--minutes", "30", code=REFUSED)

    def test_a_daemon_that_does_not_answer_is_not_waited_for_forever(self):
        self.start()
        os.kill(self.daemon.process.pid, signal.SIGSTOP)
        try:
            self.clutchward("status", code=UNAVAILABLE)
        finally:
            os.kill(self.daemon.process.pid, signal.SIGCONT)


if __name__ == "__main__":
    main()
