"""What strangers may send: too many cabinets, rubbish by the thousand."""

import json
import random
import unicodedata

from harness import BASE, LIMIT, Broker, SiteTest, free_port, main, wait_for

FLOOD = 3000
BIDI_CONTROLS = {"LRE", "RLE", "PDF", "LRO", "RLO", "LRI", "RLI", "FSI", "PDI"}


class LimitsTest(SiteTest):
    def make_broker(self):
        """One that drops nothing of the flood, however late the daemon takes it."""
        port = free_port()
        return Broker(self.folder, [f"listener {port} 127.0.0.1", "allow_anonymous true",
                                    "max_queued_messages 0"], port)

    def test_cabinets_past_the_limit_are_turned_away_and_the_others_are_well(self):
        self.settings["max_cabinets"] = 3
        self.start()
        for i in range(8):
            self.reading(37.5, cabinet=f"stray-{i}")
        wait_for("six to be turned away",
                 lambda: self.daemon.watch()["intake"]["turned_away"] >= 6)
        ids = [each["cabinet"] for each in json.loads(self.daemon.ask("/api/cabinets")[1])]
        self.assertEqual(ids, ["setter-a", "stray-0", "stray-1"])
        self.reading(39.9)
        self.event("raised")
        reply = self.command("batch_start", cabinet="setter-z", batch="hens-99",
                             profile="bench-hen")
        self.assertFalse(reply["ok"])

    def test_rubbish_is_counted_and_costs_nothing(self):
        # One probe too hot is enough, however many others there are.
        self.settings["cabinets"]["setter-a"]["combine"] = "worst"
        self.start()
        self.reading(37.5)
        rubbish = random.Random(12)
        payloads = [b"", b"NaN", b"-127", b"85", b"1e999", b"37.5 C please", b"\x00\xff\xfe",
                    b"[" * 4000, b'{"a":' * 1000, b"9" * 8000, b"9" * 100_000, "٣٧".encode()]
        topics = ["farm/setter-a/top/temperature", "farm/setter-a/humidity", f"{BASE}/command",
                  "farm/setter-a/\u202etop/temperature", "farm//top/temperature",
                  "farm/setter-a/" + "x" * 900 + "/temperature"]
        client = self.phone.client
        for i in range(FLOOD):
            payload = rubbish.choice(payloads) if i % 3 else rubbish.randbytes(40)
            topic = rubbish.choice(topics)
            if i % 5 == 0:  # a probe that is new each time: probes are bounded, too
                topic, payload = f"farm/setter-a/p{i}/temperature", "37.4"
            info = client.publish(topic, payload, qos=1)
        info.wait_for_publish(LIMIT)
        counted = wait_for("the rubbish to be counted", lambda: (
            lambda intake: intake if sum(intake["rejected"].values()) > FLOOD // 3 else None)(
                self.daemon.watch()["intake"]))
        for reason in ("empty", "not_a_number", "not_finite", "implausible", "unknown_probe", "too_long"):
            self.assertGreater(counted["rejected"][reason], 0, reason)
        self.assertTrue(counted["last_rejected"].isprintable())
        self.state("normal")
        self.reading(39.9)
        self.event("raised")
        self.done("acknowledge", cabinet="setter-a", alarm="high")
        self.assertTrue(self.daemon.alive())
        self.assertLessEqual(len(self.phone.picture("setter-a")["probes"]), 64)
        # Nothing of it reaches the log that could steer a terminal or turn the line around.
        unsafe = {letter for letter in self.daemon.log() if letter != "\n" and
                  (unicodedata.category(letter) in ("Cc", "Zl", "Zp")
                   or unicodedata.bidirectional(letter) in BIDI_CONTROLS)}
        self.assertEqual(unsafe, set())


if __name__ == "__main__":
    main()
