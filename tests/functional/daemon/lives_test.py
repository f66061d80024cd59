"""That the watch lives: beats to a real HTTP receiver and over Mosquitto, and what stops them; the
daily line over mail and webhook; the flood of a whole hall going cold at once."""

import datetime
import http.server
import json
import threading
import time
import zoneinfo

from harness import LIMIT, Closed, SiteTest, main, wait_for


class Outside:
    """Somebody outside who counts beats; knows nothing of the daemon."""

    def __init__(self):
        beats = self.beats = []

        class Handler(http.server.BaseHTTPRequestHandler):
            def do_GET(self):
                beats.append({"path": self.path, "at": time.monotonic()})
                self.send_response(204)
                self.end_headers()

            def log_message(self, *_):
                pass

        self.server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def url(self):
        return f"http://127.0.0.1:{self.server.server_address[1]}/beat/saltmere"

    def stop(self):
        self.server.shutdown()
        self.server.server_close()


class LivesTest(SiteTest):
    def setUp(self):
        super().setUp()
        self.outside = Outside()
        self.addCleanup(self.outside.stop)
        self.settings["beats"] = [{"url": self.outside.url(), "every": "10s"},
                                  {"topic": "clutchward/saltmere/beat", "every": "10s"}]

    def quiet_for(self, seconds):
        """True where no beat comes for so long."""
        before = len(self.outside.beats)
        time.sleep(seconds)
        return len(self.outside.beats) == before

    def test_a_beat_only_while_readings_arrive_and_until_the_daemon_dies(self):
        self.start()
        self.assertTrue(self.quiet_for(3), "a beat before any reading")
        self.reading(37.5)
        wait_for("the first beat", lambda: self.outside.beats)
        wait_for("a second beat", lambda: len(self.outside.beats) >= 2)
        first, second = (each["at"] for each in self.outside.beats[:2])
        # Every 10 s; one that comes late, or is heard late, does not put off the next.
        self.assertGreater(second - first, 3)
        self.assertEqual(self.outside.beats[0]["path"], "/beat/saltmere")
        topic = "clutchward/saltmere/beat"
        beat = json.loads(wait_for("the beat over MQTT", lambda: self.phone.last(topic)))
        self.assertEqual(beat["watch"], "alive")
        self.daemon.kill()
        killed = time.monotonic()
        self.assertTrue(self.quiet_for(12), "a beat from a dead daemon")
        print(f"daemon killed: last beat {killed - self.outside.beats[-1]['at']:.1f} s before, none "
              "after; whoever waits for one every 10 s knows within 10 s")

    def test_no_beat_where_no_message_gets_through(self):
        closed = Closed()
        self.addCleanup(closed.close)
        self.settings["contacts"]["mara"] = [{"webhook": f"http://127.0.0.1:{closed.port}/"}]
        self.start()
        self.reading(37.5)
        wait_for("the first beat", lambda: self.outside.beats)
        self.command("message_test")
        wait_for("the beats to be withheld",
                 lambda: "withheld, no channel gets a message through" in self.daemon.log())
        self.assertTrue(self.quiet_for(12), "a beat although nobody can be told")

    def test_the_daily_line_comes_once_and_a_restart_repeats_nothing(self):
        # Where it is noon: no midnight comes between, and no hour that is left out or comes twice.
        west = datetime.datetime.now(datetime.timezone.utc).hour - 12
        self.settings["timezone"] = zone = f"Etc/GMT{west:+d}" if west else "Etc/GMT"
        # The next full minute, but half a minute away at least: the daemon is to be up by then.
        at = datetime.datetime.now(zoneinfo.ZoneInfo(zone)) + datetime.timedelta(seconds=90)
        self.settings["daily"] = {"at": at.strftime("%H:%M"), "notify": ["mara"]}
        self.settings["profiles"]["bench-hen"]["candling"] = [3, 10]
        self.start()
        self.reading(37.5)
        self.reading(37.6, cabinet="hatcher-1")

        def lines():
            # One that a kill repeats comes under its own id.
            return list({ident: data for ident, data in self.hook.data()
                         if data["first_line"].startswith(("ALL IS WELL at", "TODAY at"))}.values())
        line = wait_for("the daily line", lines, limit=90 + LIMIT)[0]
        self.assertEqual(line["first_line"], "ALL IS WELL at Saltmere: 2 cabinets watched")
        self.assertIn("Setter A: 37.5 °C; hens-12 day 3.0, setting; next: Candle: day 3, ",
                      line["message"])
        said = line["message"].split("\n\n")[0].splitlines()  # one line a cabinet
        self.assertEqual([each.split(":")[0] for each in said], ["hatcher-1", "Setter A"])
        self.assertEqual(line["urgency"], "low")
        wait_for("the same by mail", lambda: any(mail["subject"] == line["first_line"]
                                                 for mail in self.mail.mails))

        def tasks():
            return list({ident: data for ident, data in self.hook.data()
                         if data["first_line"].startswith("TO DO")}.values())
        task = wait_for("the task of the day", tasks)[0]
        self.assertEqual(task["first_line"], "TO DO Setter A hens-12: Candle: day 3")
        self.assertEqual(task["urgency"], "low")
        self.assertIn("- Setter A, hens-12: Candle: day 3, ", task["message"])
        self.restart()
        self.reading(37.5)
        time.sleep(12)
        self.assertEqual(len(lines()), 1)
        self.assertEqual(len(tasks()), 1)

    def test_a_hall_gone_hot_at_once_is_a_handful_of_messages(self):
        self.settings["beats"] = []
        self.settings["contacts"]["mara"] = self.settings["contacts"]["mara"][:1]
        self.start()
        count = 60
        for n in range(count):  # at once: none waits until the one before has been taken
            self.phone.client.publish(f"farm/setter-{n}/top/temperature", "42.0", qos=1)
        begun = time.monotonic()

        def told():
            return {event["cabinet"] for _, data in self.hook.data() for event in data["events"]
                    if event["event"] == "raised" and event["alarm"] == "overheat"}
        wait_for("every cabinet to be told", lambda: len(told()) == count)
        took = time.monotonic() - begun
        messages = len(self.hook.data())
        print(f"{count} high alarms: {messages} messages, all told {took:.1f} s after the last reading")
        # Of a flood the high ones go each half second; a slow machine is longer about its readings.
        self.assertLess(messages, max(30, 12 + 2 * took))


if __name__ == "__main__":
    main()
