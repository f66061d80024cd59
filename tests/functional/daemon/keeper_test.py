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

    def test_the_history_is_as_new_as_the_question(self):
        self.raise_high()
        events = [json.loads(line) for line in
                  self.clutchward("history", "--events", "--json")[0].splitlines()]
        self.assertEqual([(each["alarm"], each["event"]) for each in events], [("high", "raised")])
        self.assertIn("hens-12", self.clutchward("report", "hens-12", "--json")[0])
        self.clutchward("acknowledge", "setter-a", "high")
        self.assertIn("acknowledged", self.clutchward("history", "--events")[0])
        self.clutchward("batch", "end", "hens-12")
        report = json.loads(self.clutchward("report", "hens-12", "--json")[0])
        self.assertIsNotNone(report["ended_at"])

    def test_batches(self):
        self.start()
        self.clutchward("batch", "start", "ducks-3", "setter-b", "--profile", "bench-hen",
                        "--set-at", self.set_at, "--eggs", "12")
        wait_for("the batch", lambda: (self.phone.picture("setter-b") or {}).get("batches"))
        self.clutchward("batch", "move", "ducks-3", "setter-a")
        wait_for("both batches", lambda: {each["batch"] for each in (
            self.phone.picture("setter-a") or {"batches": []})["batches"]} == {"hens-12", "ducks-3"})
        self.assertIn("last: put right: ",
                      self.clutchward("batch", "correct", "ducks-3", "--eggs", "50")[0])
        said, _ = self.clutchward("batch", "end", "ducks-3", "hatched=40", "infertile=4")
        self.assertRegex(said, r"^ducks-3 ended \d{4}-\d\d-\d\d \d\d:\d\d \w+: 40 hatched, "
                               r"4 infertile of 50; 6 not accounted for\n$")
        shown, _ = self.clutchward("batch", "show", "ducks-3")
        self.assertIn("Hatching expected (did not come: ended before)\n", shown)
        self.assertNotIn("(done)", shown)
        wait_for("the one batch", lambda: [each["batch"] for each in self.phone.picture(
            "setter-a")["batches"]] == ["hens-12"])

    def test_passing_on_says_when_nobody_is_left(self):
        self.settings["contacts"]["joss"] = [{"email": "joss@saltmere.example"}]
        self.settings["escalation"].append({"after": "4h", "notify": ["joss"]})
        self.raise_high()
        self.mail_with("TOO HOT")
        self.assertNotIn("Nobody is left", self.clutchward("pass-on", "setter-a")[0])
        wait_for("joss to be told", lambda: any(
            each["to"] == ["joss@saltmere.example"] for each in self.mail.mails))
        for _ in range(3):
            said, _ = self.clutchward("pass-on", "setter-a")
            self.assertIn("Nobody is left to pass it on to; told so far: Mara, Joss.\n", said)

    def test_a_command_without_an_alarm_answers_about_the_one_that_stands(self):
        self.raise_high()
        _, why = self.clutchward("reset", "setter-a", code=REFUSED)
        self.assertIn("high of hens-12: still active: 39.8 °C is above 39.5 °C", why)
        self.clutchward("acknowledge", "setter-a")
        _, why = self.clutchward("pass-on", "setter-a", code=REFUSED)
        self.assertIn("high of hens-12: already acknowledged by mara", why)
        self.reading(37.5, cabinet="setter-b")
        wait_for("setter-b to be known", lambda: self.phone.picture("setter-b"))
        _, why = self.clutchward("acknowledge", "setter-b", code=REFUSED)
        self.assertIn('nothing is raised at "setter-b"', why)

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
