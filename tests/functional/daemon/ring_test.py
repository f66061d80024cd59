"""A buzzer by the bed: it hears the retained ring topic from the real broker, and answers there."""

import json
import signal
import time

from harness import BASE, SiteTest, main, unix_of, wait_for

RING = f"{BASE}/ring"
CONFIRM = 30  # seconds; ample, where a busy machine is to confirm within them


class RingTest(SiteTest):
    def setUp(self):
        super().setUp()
        self.settings["contacts"] = {
            "mara": {"channels": [{"mqtt": "ring", "least": "high", "confirm": f"{CONFIRM}s"}]},
            "jonas": [{"webhook": self.hook.url("/200")}]}
        self.settings["escalation"] = [{"after": "0s", "notify": ["mara"]},
                                       {"after": "30min", "notify": ["jonas"]}]
        self.settings["cabinets"]["setter-a"]["first_aid"] = "Open the door.\nThen look."
        self.settings["cabinets"]["setter-a"]["where"] = "The keys hang behind the door."

    def ring(self):
        text = self.phone.last(RING)
        return json.loads(text) if text else None

    def ringing(self, wanted):
        def stands():
            ring = self.ring()
            return ring if ring and ring["ring"] == wanted else None
        return wait_for(f"ring to be {wanted}", stands)

    def test_it_rings_from_the_alarm_until_somebody_has_it(self):
        self.start()
        self.assertEqual(set(self.ringing(False)), {"at", "beat", "ring"})
        self.reading(39.9)
        ring = self.ringing(True)
        self.assertEqual((ring["urgency"], ring["contacts"], ring["beat"]), ("high", ["mara"], 30))
        self.assertTrue(ring["first_line"].startswith("TOO HOT Setter A 39.9 C"))
        episode = self.state("unacknowledged")["episode"]
        self.assertEqual(ring["alarms"], [{"cabinet": "setter-a", "batch": "hens-12",
                                           "alarm": "high", "episode": episode}])
        # Who comes late hears it at once.
        late = self.make_phone()
        self.addCleanup(late.stop)
        wait_for("the retained ring", lambda: late.messages(RING))
        self.assertTrue(late.messages(RING)[0]["retain"])
        # The button on the buzzer: a command with what the ring says.
        self.done("acknowledge", **ring["alarms"][0])
        self.ringing(False)

    def test_it_beats_and_the_beats_end_with_the_daemon(self):
        self.start()
        first = unix_of(self.ringing(False)["at"])
        # What was said before the broker was there may be said once more right after.
        beat = wait_for("a beat", lambda: unix_of(self.ring()["at"]) > first + 5 and self.ring())
        # Every 30 s, and none is left out.
        self.assertGreater(unix_of(beat["at"]) - first, 29)
        self.assertLess(unix_of(beat["at"]) - first, 59)
        mark = self.phone.mark()
        self.daemon.kill()
        wait_for("the last will", lambda: self.phone.messages(f"{BASE}/status", mark))
        time.sleep(2)
        self.assertEqual(self.phone.messages(RING, mark), [])

    def test_confirmed_is_delivered_and_unconfirmed_goes_to_the_next(self):
        self.start()
        self.ringing(False)
        self.reading(39.9)
        ring = self.ringing(True)
        rang = time.monotonic()
        self.phone.publish(f"{RING}/confirm", json.dumps({"id": ring["id"], "by": "bedside"}))
        confirmed = wait_for("the confirmation", lambda: self.ring().get("confirmed_at") and
                             self.ring())
        self.assertEqual((confirmed["ring"], confirmed["confirmed_by"]), (True, "bedside"))
        channel = wait_for("the delivery", lambda: next(
            (each for each in self.daemon.watch()["channels"]
             if each["kind"] == "mqtt" and each["delivered"]), None))
        self.assertEqual((channel["contact"], channel["failed"]), ("mara", 0))
        time.sleep(max(0, rang + CONFIRM + 1 - time.monotonic()))
        self.assertEqual(self.hook.data(), [])
        self.done("acknowledge", cabinet="setter-a", alarm="high")
        self.ringing(False)
        # Once more, and the buzzer has lost its power.
        self.settings["contacts"]["mara"]["channels"][0]["confirm"] = "10s"
        self.daemon.configure(self.settings)
        self.daemon.process.send_signal(signal.SIGHUP)
        self.logged("the new configuration is in force")
        self.reading(41.2)
        self.ringing(True)
        _, told = self.hooked(1)[0]
        self.assertIn("Mara could not be reached", told["message"])
        self.assertTrue(self.ring()["ring"])

    def test_it_goes_on_after_a_crash_and_a_broker_without_memory(self):
        self.start()
        self.reading(39.9)
        self.ringing(True)
        self.broker.kill()
        self.broker.start()
        self.phone.stop()
        self.phone = self.make_phone()
        self.ringing(True)
        mark = self.phone.mark()
        self.restart()
        wait_for("the ring after the crash", lambda: any(
            not each["retain"] and json.loads(each["payload"])["ring"]
            for each in self.phone.messages(RING, mark)))
        self.done("acknowledge", cabinet="setter-a", alarm="high")
        self.ringing(False)

    def test_a_test_message_rings_for_one_beat(self):
        self.start()
        self.ringing(False)
        self.done("message_test", contact="mara")
        ring = self.ringing(True)
        self.assertTrue(ring["first_line"].startswith("TEST Saltmere"))
        self.assertEqual(ring["alarms"], [])
        self.phone.publish(f"{RING}/confirm", "")
        self.ringing(False)

    def test_a_reload_takes_the_topic_away(self):
        self.start()
        self.ringing(False)
        self.settings["contacts"]["mara"] = [{"webhook": self.hook.url("/200")}]
        self.daemon.configure(self.settings)
        self.daemon.process.send_signal(signal.SIGHUP)
        self.logged("the new configuration is in force")
        wait_for("the topic to be gone", lambda: self.phone.last(RING) == "")

    def test_what_a_stand_in_must_know_is_on_the_cabinets_page_data(self):
        self.start()
        self.reading(37.5)
        picture = wait_for("the picture", lambda: self.phone.picture("setter-a"))
        self.assertEqual(picture["first_aid"], "Open the door.\nThen look.")
        self.assertEqual(picture["where"], "The keys hang behind the door.")
        status, page = self.daemon.ask("/cabinets/setter-a")
        self.assertEqual(status, 200)
        self.assertIn("First aid: Open the door.", page)
        status, page = self.daemon.ask("/wakes")
        self.assertEqual(status, 200)
        self.assertIn("What wakes whom", page)


if __name__ == "__main__":
    main()
