"""An overheating cabinet from the first reading to the reset: what arrives, what is answered."""

import json
import time

from harness import BASE, SiteTest, alike, main, unix_of, wait_for


class AlarmTest(SiteTest):
    def raise_high(self, value=39.8):
        self.start()
        self.reading(37.5)
        self.reading(value)
        return self.event("raised")

    def test_mail_and_webhook_arrive_and_say_it_in_the_first_line(self):
        event = self.raise_high()
        ident, data = self.webhook_of("raised")
        request = next(each for each in self.hook.requests
                       if each["headers"]["webhook-id"] == ident)
        self.assertEqual(request["checked"], [True])
        envelope = json.loads(request["body"])
        self.assertEqual((envelope["specversion"], envelope["id"]), ("1.0", ident))
        line = data["first_line"]
        self.assertLessEqual(len(line), 80)
        self.assertTrue(line.isascii(), line)
        # What, where, how much and which way, the limit, since when, one thing to do.
        self.assertRegex(line, r"^TOO HOT Setter A 39\.8 C( rising| steady)? \(max 39\.5\) "
                               r"since \d\d:\d\d\. \w.+")
        self.assertEqual(data["urgency"], "high")
        self.assertTrue(data["episode"])
        self.assertEqual(data["events"], [event])
        mail = self.mail_with("TOO HOT")
        self.assertEqual(mail["subject"], line)
        self.assertEqual((mail["from"], mail["to"]),
                         ("clutchward@saltmere.example", ["mara@saltmere.example"]))
        for part in ("Setter A", "39.8", "39.5", "hens-12", "no safety device"):
            self.assertIn(part, mail["text"])

    def test_from_acknowledged_to_reset(self):
        self.raise_high()
        self.assertEqual(self.command("acknowledge", cabinet="setter-a", alarm="high", id="ack-1"),
                         {"id": "ack-1", "ok": True})
        self.assertEqual(self.event("acknowledged")["by"], "mara")
        self.assertEqual(self.state("acknowledged")["acknowledged_by"], "mara")

        # Beyond the reference by worse_by: it rings again although somebody has it.
        self.reading(40.8)
        worse = self.event("worsened")
        self.assertEqual((worse["value"], worse["worst"]), (40.8, 40.8))
        self.state("unacknowledged")
        self.webhook_of("worsened")

        # A snooze that runs out.
        mark = self.phone.mark()
        self.done("snooze", cabinet="setter-a", alarm="high", minutes=0.05)
        snoozed = self.event("snoozed", since=mark)
        again = self.event("raised_again", since=mark)
        self.assertAlmostEqual(unix_of(again["at"]) - unix_of(snoozed["at"]), 3.0, delta=0.2)
        self.webhook_of("raised_again")

        # A snooze that a worsening breaks.
        mark = self.phone.mark()
        self.done("snooze", cabinet="setter-a", alarm="high", minutes=30)
        wait_for("the snooze in the picture", lambda: unix_of(
            self.alarm().get("snoozed_until") or "2000-01-01T00:00:00Z") > time.time() + 60)
        self.reading(42.0)
        self.event("worsened", since=mark)
        wait_for("the end of the snooze", lambda: self.alarm().get("snoozed_until") is None)
        self.state("unacknowledged")

        self.reading(39.3)  # limit - deadband
        self.assertEqual(self.event("returned")["value"], 39.3)
        latched = self.state("latched")
        self.assertFalse(latched["active"])
        self.assertEqual(latched["worst"], 42.0)
        self.webhook_of("returned")

        self.done("reset", cabinet="setter-a", alarm="high")
        self.assertEqual(self.event("reset")["by"], "mara")
        self.state("normal")

    def test_refusals_are_sentences_and_change_nothing(self):
        self.raise_high()
        before = self.state("unacknowledged")
        for words, why in [
                ({"do": "reset", "alarm": "high"},
                 "still active: 39.8 °C is above 39.5 °C; reset it once it has returned"),
                ({"do": "snooze", "alarm": "high", "minutes": 180},
                 "3h is longer than this alarm may be snoozed: at most 2h"),
                ({"do": "acknowledge", "alarm": "hihg"},
                 "no alarm \"hihg\" at cabinet \"setter-a\"; did you mean \"high\"?"),
                ({"do": "acknowledge", "batch": "hens-21", "alarm": "high"},
                 "no batch \"hens-21\" in cabinet \"setter-a\"; did you mean \"hens-12\"?")]:
            reply = self.command(cabinet="setter-a", **words)
            self.assertEqual((reply["ok"], reply.get("why")), (False, why))
        reply = self.command("acknowledge", cabinet="setter-b")
        self.assertFalse(reply["ok"])
        self.assertTrue(reply["why"].startswith("no cabinet \"setter-b\""), reply)
        for ident, text in [
                ("odd-1", '{"id":"odd-1","do":"acknowlege","cabinet":"setter-a"}'),
                ("odd-2", '{"id":"odd-2","do":"acknowledge","cabinet":"setter-a","alam":"high"}'),
                ("odd-3", '{"id":"odd-3","cabinet":"setter-a"}')]:
            reply = self.send_command(text, ident)
            self.assertFalse(reply["ok"])
            self.assertGreater(len(reply["why"]), 15)
        self.assertEqual(self.words(), ["raised"])
        self.assertTrue(alike(self.alarm(), before), (self.alarm(), before))

    def test_a_retained_command_is_refused(self):
        self.raise_high()
        self.phone.publish(f"{BASE}/command", json.dumps(
            {"id": "old-1", "do": "acknowledge", "by": "mara", "cabinet": "setter-a"}))
        wait_for("the reply", lambda: self.phone.messages(f"{BASE}/reply/old-1"))
        self.daemon.kill()
        # Retained while the daemon is away, so that it comes to it as retained.
        self.phone.publish(f"{BASE}/command", json.dumps(
            {"id": "old-2", "do": "snooze", "by": "mara", "cabinet": "setter-a", "minutes": 1}),
            retain=True)
        self.start()
        reply = json.loads(wait_for(
            "the refusal", lambda: self.phone.last(f"{BASE}/reply/old-2")))
        self.assertFalse(reply["ok"])
        self.assertIn("retained", reply["why"])
        self.state("acknowledged")
        self.assertNotIn("snoozed", self.words())
        self.phone.publish(f"{BASE}/command", "", retain=True)

    def test_the_same_id_is_done_once_also_over_a_restart(self):
        self.raise_high()
        first = self.command("snooze", cabinet="setter-a", alarm="high", minutes=20, id="twice")
        self.assertTrue(first["ok"])
        until = wait_for("the snooze", lambda: self.alarm().get("snoozed_until"))
        self.assertEqual(self.command("snooze", cabinet="setter-a", alarm="high", minutes=90,
                                      id="twice"), first)
        self.restart()
        self.assertEqual(self.command("snooze", cabinet="setter-a", alarm="high", minutes=90,
                                      id="twice"), first)
        self.assertAlmostEqual(unix_of(self.alarm().get("snoozed_until")), unix_of(until), delta=1)
        self.assertEqual(self.words().count("snoozed"), 1)

    def test_the_response_topic_of_mqtt_5(self):
        self.raise_high()
        body = json.dumps({"id": "v5-1", "by": "mara", "do": "acknowledge", "cabinet": "setter-a"})
        self.phone.publish(f"{BASE}/command", body, response="clients/mara/replies",
                           correlation=b"\x01two")
        heard = wait_for("the response", lambda: self.phone.messages("clients/mara/replies"))[0]
        self.assertEqual(json.loads(heard["payload"]), {"id": "v5-1", "ok": True})
        self.assertEqual(heard["correlation"], b"\x01two")
        self.assertEqual(json.loads(wait_for("the reply under our base", lambda: self.phone.last(
            f"{BASE}/reply/v5-1"))), {"id": "v5-1", "ok": True})
        # A response topic outside must not make the daemon speak where readings come in.
        self.phone.publish(f"{BASE}/command", body.replace("v5-1", "v5-2"),
                           response="farm/setter-a/top/temperature", correlation=b"x")
        wait_for("the reply", lambda: self.phone.messages(f"{BASE}/reply/v5-2"))
        self.reading(37.5)  # behind it
        wait_for("the reading", lambda: self.daemon.watch()["intake"]["accepted"] > 2)
        intake = self.daemon.watch()["intake"]
        self.assertEqual((intake["accepted"], sum(intake["rejected"].values())), (3, 0))

    def test_pass_on_and_attend_and_out_of_service(self):
        self.raise_high()
        self.done("out_of_service", cabinet="setter-a", alarm="high", minutes=5,
                  reason="probe is being changed")
        away = self.state("out_of_service")
        self.assertEqual((away["out_of_service_by"], away["reason"]),
                         ("mara", "probe is being changed"))
        self.done("in_service", cabinet="setter-a", alarm="high")
        wait_for("it to be raised anew", lambda: self.words().count("raised") == 2)
        self.done("attend", cabinet="setter-a", minutes=10)
        wait_for("who attends", lambda: self.phone.picture("setter-a")["attending_by"] == "mara")
        self.done("attended", cabinet="setter-a")
        wait_for("the end of it", lambda: not self.phone.picture("setter-a")["attending_by"])

    def test_a_batch_is_started_and_ended_by_command(self):
        self.start()
        self.done("batch_start", cabinet="setter-b", batch="ducks-3", profile="bench-hen",
                  set_at=self.set_at, eggs=12)
        batch = wait_for("the batch in the picture", lambda: (self.phone.picture("setter-b") or {})
                         .get("batches"))[0]
        self.assertEqual((batch["batch"], batch["eggs"]), ("ducks-3", 12))
        self.reading(39.9, cabinet="setter-b")
        self.assertEqual(self.event("raised", cabinet="setter-b")["batch"], "ducks-3")
        self.done("batch_end", batch="ducks-3")
        self.event("returned", cabinet="setter-b")


if __name__ == "__main__":
    main()
