"""kill -9 in every state: what stood stands again, what was owed is delivered, nothing is told
twice under another id."""

import json
import random
import time

from harness import BASE, LIMIT, SiteTest, main, unix_of, wait_for


class RestartTest(SiteTest):
    def at_its_time(self, event, due):
        """By no means before it was due; then, or where the daemon was still down, once it was up."""
        at = unix_of(event["at"])
        # What is due is kept as wall time: only the offset of the two clocks may differ.
        self.assertGreater(at, due - 0.5)
        self.assertLess(at, max(due, self.up_at) + 0.5)

    def restart(self, settings=None):
        known = self.phone.picture("setter-a")
        self.daemon.kill()
        mark = self.phone.mark()
        self.start(settings)
        self.up_at = time.time()
        # What the one before had shown is no evidence.
        wait_for("a picture of the new daemon", lambda: not known or self.phone.messages(
            f"{BASE}/cabinets/setter-a", mark))

    def nothing_more_was_told(self):
        """A test message is told behind all that was owed: when it has arrived, nothing else had."""
        self.hook.caught_up()
        hooks, mails = len(self.hook.data()), len(self.mail.mails)
        self.done("message_test", contact="mara")
        self.assertTrue(self.hooked(hooks + 1)[hooks][1]["first_line"].startswith("TEST"))
        self.assertTrue(self.mailed(mails + 1)[mails]["subject"].startswith("TEST"))

    def no_event_under_two_ids(self):
        told = {}
        for ident, data in self.hook.data():
            for event in data["events"]:
                told.setdefault(json.dumps(event), set()).add(ident)
        for event, ids in told.items():
            self.assertEqual(len(ids), 1, f"{event} was told as {ids}")

    def test_every_state_outlives_a_kill(self):
        self.start()
        self.reading(37.5)
        self.reading(39.8)
        raised = self.state("unacknowledged")
        self.webhook_of("raised")
        self.mail_with("TOO HOT")
        self.settled()
        self.restart()
        again = self.state("unacknowledged")
        self.nothing_more_was_told()
        for key in ("episode", "limit", "worst", "active", "latched", "acknowledged"):
            self.assertEqual(again[key], raised[key], key)
        self.assertAlmostEqual(unix_of(again["raised_at"]), unix_of(raised["raised_at"]), delta=0.5)

        self.done("acknowledge", cabinet="setter-a", alarm="high")
        taken = self.state("acknowledged")
        self.settled()
        self.restart()
        again = self.state("acknowledged")
        self.assertEqual(again["acknowledged_by"], "mara")
        self.assertAlmostEqual(unix_of(again["acknowledged_at"]),
                               unix_of(taken["acknowledged_at"]), delta=0.5)
        self.nothing_more_was_told()

        self.done("snooze", cabinet="setter-a", alarm="high", minutes=0.25)
        until = unix_of(wait_for("the snooze", lambda: self.alarm().get("snoozed_until")))
        self.restart()
        self.at_its_time(self.event("raised_again"), until)
        self.webhook_of("raised_again")

        self.reading(37.5)
        self.state("latched")
        self.webhook_of("returned")
        self.settled()
        self.restart()
        self.state("latched")
        self.nothing_more_was_told()
        self.done("reset", cabinet="setter-a", alarm="high")
        self.state("normal")
        self.settled()
        self.restart()
        self.state("normal")
        self.assertEqual(self.words(), ["raised", "acknowledged", "snoozed", "raised_again",
                                        "returned", "reset"])
        self.no_event_under_two_ids()

    def test_a_snooze_is_shown_with_its_end_after_a_kill(self):
        self.start()
        self.reading(39.8)
        self.event("raised")
        self.done("snooze", cabinet="setter-a", alarm="high", minutes=45)
        until = unix_of(wait_for("the snooze", lambda: self.alarm().get("snoozed_until")))
        self.restart()
        self.assertAlmostEqual(unix_of(self.alarm().get("snoozed_until")), until, delta=0.5)

    def test_a_full_outbox_is_delivered_once_the_servers_are_back(self):
        self.mail.mode = "refuse"
        self.settings["contacts"]["mara"][0]["webhook"] = self.hook.url("/500")
        for name in ("setter-b", "setter-c"):
            self.settings["batches"].append({**self.settings["batches"][0], "cabinet": name,
                                             "id": "hens-of-" + name})
        self.start()
        for name in ("setter-a", "setter-b", "setter-c"):
            self.reading(39.9, cabinet=name)
            self.event("raised", cabinet=name)
        wait_for("three refused mails", lambda: len(set(self.mail.refused)) == 3)
        wait_for("three refused webhooks", lambda: len({i for i, _ in self.hook.data("/500")}) == 3)
        tried = dict(self.hook.data("/500"))
        mails = set(self.mail.refused)
        self.restart()
        self.assertEqual(self.daemon.watch()["waiting_messages"], 6)
        self.daemon.kill()
        self.mail.mode = "keep"
        self.settings["contacts"]["mara"][0]["webhook"] = self.hook.url("/200")
        self.start(self.settings)
        self.hooked(3)
        self.mailed(3)
        self.settled()
        self.nothing_more_was_told()
        delivered = self.hook.data()[:3]
        self.assertEqual({ident for ident, _ in delivered}, set(tried))
        for ident, data in delivered:
            self.assertEqual(data, tried[ident])
        self.assertEqual({mail["id"] for mail in self.mail.mails[:3]}, mails)

    def test_a_mail_whose_answer_was_never_heard_comes_again_under_its_own_id(self):
        self.mail.mode = "silent"
        self.start()
        self.reading(39.9)
        wait_for("the mail that is not answered", lambda: self.mail.silent)
        self.daemon.kill()
        self.mail.mode = "keep"
        self.start()
        self.assertEqual(self.mail_with("TOO HOT")["id"], self.mail.silent[0])

    def test_kills_at_any_moment_lose_nothing_and_double_nothing(self):
        moments = random.Random(12)
        # A reminder after an hour instead of three minutes: eight restarts may take long.
        self.settings["rules"]["high"] = {"priority": "medium"}
        cabinets = [f"setter-{i}" for i in range(8)]
        for name in cabinets:
            self.settings["batches"].append({**self.settings["batches"][0], "cabinet": name,
                                             "id": "hens-of-" + name})
        self.start()
        for name in cabinets:
            self.reading(39.9, cabinet=name)
            time.sleep(moments.uniform(0, 0.06))  # somewhere between hearing, saving and telling
            self.restart()
        for name in cabinets:  # where the first was not heard
            self.reading(39.9, cabinet=name)
            # Two that are decided in one turn would share a message.
            wait_for(f"the alarm of {name}", lambda name=name: self.stands(name))
        wait_for("each to be told by webhook", lambda: self.told_cabinets() >= set(cabinets))
        wait_for("each to be told by mail", lambda: all(any(
            f"TOO HOT {name} " in mail["subject"] for mail in self.mail.mails) for name in cabinets))
        self.settled()
        self.nothing_more_was_told()
        self.no_event_under_two_ids()
        raised = {json.dumps(event) for _, data in self.hook.data() for event in data["events"]
                  if event["event"] == "raised" and event["alarm"] == "high"}
        self.assertEqual(len(raised), len(cabinets))
        mails = {}
        for mail in self.mail.mails:
            mails.setdefault(mail["subject"].split(" 39.9")[0], set()).add(mail["id"])
        self.assertEqual({subject: len(ids) for subject, ids in mails.items()
                          if subject.startswith("TOO HOT")},
                         {f"TOO HOT {name}": 1 for name in cabinets})

    def stands(self, cabinet):
        _, text = self.daemon.ask(f"/api/cabinets/{cabinet}")
        return any((each["alarm"], each["state"]) == ("high", "unacknowledged")
                   for each in json.loads(text).get("alarms", []))

    def told_cabinets(self):
        return {event["cabinet"] for _, data in self.hook.data() for event in data["events"]}

    def test_a_running_delay_is_not_begun_anew(self):
        self.settings["rules"]["slow"] = {"kind": "above", "offset": 0.5, "delay": "8s"}
        self.start()
        self.reading(38.4)
        since = unix_of(self.state("pending", "slow")["since"])
        self.settled()  # the picture does not wait for the disk
        time.sleep(2)  # so much later it would be raised, begun anew
        self.restart()
        self.at_its_time(self.event("raised", "slow"), since + 8)

    def test_a_second_daemon_leaves_the_state_alone(self):
        self.start()
        other = type(self.daemon)(self.folder)
        other.start()
        self.assertEqual(other.process.wait(timeout=LIMIT), 73)
        self.assertIn("in use by another daemon", other.log())
        self.assertEqual(self.daemon.ask("/api/cabinets")[0], 200)


if __name__ == "__main__":
    main()
