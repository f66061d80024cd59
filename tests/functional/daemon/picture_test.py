"""What the daemon publishes: its status and will, the retained pictures, the events."""

import json
import os
import unittest

from harness import BASE, LIMIT, SiteTest, free_port, main, unix_of, wait_for

SLOW_NAMES = os.environ.get("SLOW_NAMES_LIBRARY")

STATES = {"out_of_service", "unacknowledged", "acknowledged", "latched", "returned", "suppressed",
          "pending", "normal"}
EVENT_KEYS = ["at", "cabinet", "batch", "alarm", "event", "value", "limit", "worst", "by"]


class PictureTest(SiteTest):
    def retained(self, topic):
        """What a client that comes now finds under the topic."""
        late = self.make_phone()
        self.addCleanup(late.stop)
        found = wait_for(f"{topic} to be retained", lambda: late.messages(topic))[0]
        self.assertTrue(found["retain"])
        return found["payload"].decode()

    def test_a_reading_becomes_a_retained_picture(self):
        self.start()
        self.assertEqual(self.retained(f"{BASE}/status"), "online")
        self.reading(37.5)
        self.reading(37.7, probe="bottom")
        self.phone.publish("farm/setter-a/humidity", "48.5")
        wait_for("the readings in the picture", lambda: (self.phone.picture("setter-a") or {}).get(
            "humidity") == 48.5)
        picture = json.loads(self.retained(f"{BASE}/cabinets/setter-a"))
        self.assertEqual((picture["cabinet"], picture["name"]), ("setter-a", "Setter A"))
        self.assertEqual((picture["coldest"], picture["hottest"]), (37.5, 37.7))
        self.assertFalse(picture["no_data"])
        batch, = picture["batches"]
        self.assertEqual((batch["batch"], batch["profile"], batch["stage"], batch["target"]),
                         ("hens-12", "bench-hen", "setting", 37.5))
        self.assertAlmostEqual(batch["day"], 3.0, delta=0.05)
        self.assertLessEqual({each["state"] for each in picture["alarms"]}, STATES)
        self.assertLessEqual({"high", "hot", "warm", "cool", "low", "overheat", "silent", "blind"},
                             {each["alarm"] for each in picture["alarms"]})

    def test_an_event_has_the_keys_of_the_contract(self):
        self.start()
        self.reading(37.5)
        self.reading(39.6)
        event = self.event("raised")
        self.assertEqual(list(event), EVENT_KEYS)
        at = event.pop("at")
        self.assertRegex(at, r"^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$")
        self.assertEqual(event, {"cabinet": "setter-a", "batch": "hens-12", "alarm": "high",
                                 "event": "raised", "value": 39.6, "limit": 39.5, "worst": 39.6,
                                 "by": None})
        alarm = self.state("unacknowledged")
        # The picture reckons back from the present by the steady clock: the last digits may differ.
        self.assertAlmostEqual(unix_of(alarm["raised_at"]), unix_of(at), delta=0.2)
        heard = self.phone.messages(f"{BASE}/events")[0]
        self.assertFalse(heard["retain"])
        self.assertAlmostEqual(heard["at"], unix_of(at), delta=LIMIT)

    def test_the_will_says_offline_when_the_daemon_is_killed(self):
        self.start()
        self.daemon.kill()
        wait_for("the will", lambda: self.phone.last(f"{BASE}/status") == "offline")
        self.assertEqual(self.retained(f"{BASE}/status"), "offline")

    def test_a_clean_stop_says_offline_and_ends_well(self):
        self.start()
        self.assertEqual(self.daemon.stop(), 0)
        wait_for("the farewell", lambda: self.phone.last(f"{BASE}/status") == "offline")
        self.assertEqual(self.retained(f"{BASE}/status"), "offline")

    @unittest.skipUnless(SLOW_NAMES and not os.environ.get("LD_PRELOAD"), "nothing to preload")
    def test_a_stop_while_the_brokers_name_is_looked_up_ends_well(self):
        self.settings["broker"]["url"] = "mqtt://broker.saltmere.example"
        self.settings["page"] = {"listen": f"127.0.0.1:{free_port()}"}
        self.daemon.environment = {"LD_PRELOAD": SLOW_NAMES}
        self.daemon.configure(self.settings)
        self.daemon.start()
        self.logged("watching mqtt://broker.saltmere.example")
        self.logged("a name is looked up")
        self.assertEqual(self.daemon.stop(), 0)
        self.assertIn("the broker did not let go in time", self.daemon.log())

    def test_what_is_decided_last_is_told_before_the_farewell(self):
        self.start()
        self.reading(39.9)
        self.event("raised")
        mark = self.phone.mark()
        self.phone.publish(f"{BASE}/command", json.dumps(
            {"id": "last", "by": "mara", "do": "acknowledge", "cabinet": "setter-a"}))
        self.assertEqual(self.daemon.stop(), 0)
        wait_for("the farewell", lambda: self.phone.last(f"{BASE}/status") == "offline")
        heard = [each["topic"] for each in self.phone.heard[mark:]]
        heard = heard[:heard.index(f"{BASE}/status")]
        # Whether it was taken at all is a race; if it was, it was answered and told.
        mark = self.phone.mark()
        self.start()
        wait_for("the picture after the restart", lambda: self.phone.messages(
            f"{BASE}/cabinets/setter-a", mark))
        taken = self.alarm()["state"] == "acknowledged"
        self.assertEqual(f"{BASE}/reply/last" in heard, taken)
        self.assertEqual(f"{BASE}/events" in heard, taken)

    def test_a_watch_with_nothing_to_do_sleeps(self):
        self.start()
        self.reading(37.5)
        wait_for("the reading", lambda: (self.phone.picture("setter-a") or {}).get("hottest"))
        self.assertTrue(self.daemon.sleeps())
        self.reading(39.9)
        self.webhook_of("raised")
        self.mail_with("TOO HOT")
        self.assertTrue(self.daemon.sleeps())

    def test_a_retained_reading_is_old_news(self):
        self.reading(41.5, retain=True)
        self.start()
        picture = wait_for("the cabinet", lambda: self.phone.picture("setter-a"))
        wait_for("the value as last known", lambda: any(
            each["value"] == 41.5 for each in self.phone.picture("setter-a")["probes"]))
        picture = self.phone.picture("setter-a")
        self.assertEqual([(each["value"], each["fresh"]) for each in picture["probes"]],
                         [(41.5, False)])
        self.reading(37.5)
        wait_for("the fresh value", lambda: self.phone.picture("setter-a")["temperature"] == 37.5)
        self.assertEqual(self.phone.events(), [])


if __name__ == "__main__":
    main()
