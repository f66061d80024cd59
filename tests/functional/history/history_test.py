"""A recording played into a history, and the history read back as CSV and JSON by Python.

usage: history_test.py KEEPER     the keeper's command
"""
import csv
import datetime
import io
import json
import pathlib
import subprocess
import sys
import tempfile
import unittest

KEEPER = sys.argv.pop(1)
CONFIG = """
site: Saltmere
broker: { url: "mqtt://127.0.0.1:1883", base: clutchward/saltmere }
patterns:
  - { topic: "farm/{cabinet}/{probe}/temperature", quantity: temperature }
profiles:
  bench:
    name: Domestic hen
    days: 21
    stages: [ { name: setting, from_day: 0, target: 37.5 } ]
batches:
  - { id: hens-12, profile: bench, cabinet: setter-a, set_at: "2026-02-20T08:00:00Z" }
"""
START = datetime.datetime(2026, 3, 1, 8, tzinfo=datetime.timezone.utc)


def run(*arguments):
    return subprocess.run([KEEPER, *map(str, arguments)], capture_output=True, check=False,
                          timeout=180)


class HistoryTest(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        root = pathlib.Path(cls.folder.name)
        (root / "c.yaml").write_text(CONFIG, encoding="utf-8")
        lines = []
        for i in range(0, 7200, 10):  # two hours, a reading each 10 s; the second hour is hot
            at = (START + datetime.timedelta(seconds=i)).strftime("%Y-%m-%dT%H:%M:%S.000000Z")
            for probe, value in (("top", 37.4 + i % 60 / 100), ("low", 37.5)):
                hot = 3 if i >= 3600 else 0
                lines.append(json.dumps({"tst": at, "topic": f"farm/setter-a/{probe}/temperature",
                                         "payload": f"{value + hot:.3f}", "retain": 0}))
        (root / "r.jsonl").write_text("\n".join(lines) + "\n", encoding="utf-8")
        cls.root = root
        cls.history = root / "h.db"
        cls.played = run("replay", "--config", root / "c.yaml", "--history", cls.history,
                         root / "r.jsonl")

    @classmethod
    def tearDownClass(cls):
        cls.folder.cleanup()

    def test_every_minute_of_every_probe_is_there(self):
        self.assertEqual(self.played.returncode, 0, self.played.stderr)
        done = run("history", "--history", self.history, "--csv")
        self.assertEqual(done.returncode, 0, done.stderr)
        rows = list(csv.DictReader(io.StringIO(done.stdout.decode(), newline="")))
        self.assertEqual(len(rows), 240)
        top = [row for row in rows if row["probe"] == "top"]
        self.assertEqual(top[0], {
            "at": "2026-03-01T08:00:00.000Z", "cabinet": "setter-a", "probe": "top",
            "quantity": "temperature", "min": "37.4", "mean": "37.65", "max": "37.9",
            "count": "6"})
        self.assertEqual(top[60]["mean"], "40.65")

    def test_json_is_the_same_as_csv(self):
        arguments = ("history", "--history", self.history, "--probe", "low", "--from",
                     "2026-03-01T08:30:00Z", "--to", "2026-03-01T09:30:00Z")
        rows = list(csv.DictReader(io.StringIO(run(*arguments, "--csv").stdout.decode())))
        objects = [json.loads(line) for line in run(*arguments, "--json").stdout.splitlines()]
        self.assertEqual(len(objects), 60)
        self.assertEqual([(o["at"], o["mean"], o["count"]) for o in objects],
                         [(r["at"], float(r["mean"]), int(r["count"])) for r in rows])

    def test_events_are_those_of_the_replay(self):
        told = [json.loads(line) for line in self.played.stdout.splitlines()]
        self.assertTrue(any(event["alarm"] == "high" for event in told))
        done = run("history", "--history", self.history, "--events", "--json")
        kept = [json.loads(line) for line in done.stdout.splitlines()]
        self.assertEqual([{key: event[key] for key in told[0]} for event in kept], told)
        high = next(event for event in kept if event["alarm"] == "high")
        self.assertEqual((high["priority"], high["kind"], high["latched"]), ("high", "above", True))

    def test_a_recording_is_not_played_into_a_history_twice(self):
        done = run("replay", "--config", self.root / "c.yaml", "--history", self.history,
                   self.root / "r.jsonl")
        self.assertEqual(done.returncode, 73)
        self.assertIn(b"is there already", done.stderr)

    def test_what_is_no_history_is_refused(self):
        done = run("history", "--history", self.root / "none.db")
        self.assertEqual(done.returncode, 66)
        self.assertIn(b"No such file", done.stderr)
        done = run("history", "--history", self.root / "c.yaml")
        self.assertEqual(done.returncode, 65)
        self.assertIn(b"file is not a database", done.stderr)
        done = run("history", "--history", self.history, "--from", "yesterday")
        self.assertEqual(done.returncode, 64)
        self.assertIn(b"expected such as 2026-03-01T08:00:00Z", done.stderr)


if __name__ == "__main__":
    unittest.main()
