"""GET /calendar.ics as two independent readers of RFC 5545 see it: python3-icalendar and ical.js.
Runs the web server as a program; both must find the same events, those that the batches' own JSON
names as not done, under identifiers that do not change."""

import datetime
import json
import os
import pathlib
import subprocess
import sys
import tempfile
import unittest
import urllib.request

import icalendar

sys.path.append(str(pathlib.Path(__file__).resolve().parents[2]))
from lines import read_line  # noqa: E402
from ports import free_port  # noqa: E402

HERE = pathlib.Path(__file__).resolve().parent
SITE_SERVER = os.environ["SITE_SERVER"]


class Calendar(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)
        self.port = free_port()
        self.server = subprocess.Popen(
            [SITE_SERVER, self.folder.name, f"127.0.0.1:{self.port}"],
            stdout=subprocess.PIPE, text=True)
        self.addCleanup(self.stop)
        self.assertEqual(read_line(self.server), "ready\n")

    def stop(self):
        self.server.terminate()
        self.server.wait()
        self.server.stdout.close()

    def get(self, path):
        with urllib.request.urlopen(f"http://127.0.0.1:{self.port}{path}", timeout=60) as answer:
            return answer.headers["Content-Type"], answer.read()

    def test_both_readers_find_what_is_not_done(self):
        kind, body = self.get("/calendar.ics")
        self.assertEqual(kind, "text/calendar; charset=utf-8")
        for line in body.split(b"\r\n"):
            self.assertLessEqual(len(line), 75)  # RFC 5545, section 3.1
            self.assertNotIn(b"\n", line)
        batches = json.loads(self.get("/api/batches")[1])
        self.assertEqual([each["batch"] for each in batches], ["geese-3"])
        open_dates = [date for date in batches[0]["dates"] if not date["done"]]

        ours = icalendar.Calendar.from_ical(body)
        self.assertEqual(ours["VERSION"], "2.0")
        self.assertTrue(ours["PRODID"])
        first = {}
        for event in ours.walk("VEVENT"):
            self.assertIn("DTSTAMP", event)
            first[str(event["UID"])] = (str(event["SUMMARY"]), event.decoded("DTSTART"),
                                        event.decoded("DTEND"), str(event["DESCRIPTION"]),
                                        str(event["LOCATION"]))
        done = subprocess.run(["node", str(HERE / "calendar_read.mjs")], input=body, cwd=HERE.parent,
                              capture_output=True, check=True, timeout=60)
        other = json.loads(done.stdout)
        self.assertEqual(other["version"], "2.0")
        second = {each["uid"]: (each["summary"], datetime.date.fromisoformat(each["start"]),
                                datetime.date.fromisoformat(each["end"]), each["description"],
                                each["location"]) for each in other["events"]}
        self.assertEqual(first, second)
        self.assertEqual(len(first), len(open_dates))
        for date in open_dates:
            uid = f"Saltmere.geese-3.{date['task']}.{date['number']}@clutchward"
            summary, start, end, description, location = first[uid]
            self.assertEqual(summary, "geese-3: " + date["what"])
            self.assertEqual(start.isoformat(), date["from"][:10])
            self.assertEqual((end - datetime.timedelta(days=1)).isoformat(), date["to"][:10])
            self.assertIn("11 eggs, in Setter A.", description)
            self.assertEqual(location, "Setter A")

    def test_asked_again_it_names_the_same_events(self):
        def uids():
            ours = icalendar.Calendar.from_ical(self.get("/calendar.ics")[1])
            return sorted(str(event["UID"]) for event in ours.walk("VEVENT"))
        self.assertEqual(uids(), uids())
        self.assertEqual(len(set(uids())), len(uids()))


if __name__ == "__main__":
    unittest.main()
