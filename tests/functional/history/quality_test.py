"""Does it ring well: a recording whose figures were worked out by hand, through one configuration,
through several side by side, and out of the history.

usage: quality_test.py KEEPER     the keeper's command
"""
import collections
import csv
import datetime
import io
import json
import os
import pathlib
import re
import sqlite3
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
rules:
  overheat: off
  hot: off
  warm: off
  cool: off
  cool_long: off
  low: off
  silent: off
  blind: off
  turning: off
  spread: off
  power: off
  high: { HIGH }
profiles:
  bench:
    name: Domestic hen
    days: 21
    stages: [ { name: setting, from_day: 0, target: 37.5 } ]
batches:
  - { id: hens-a, profile: bench, cabinet: setter-a, set_at: "2026-02-20T08:00:00Z" }
  - { id: hens-b, profile: bench, cabinet: setter-b, set_at: "2026-02-20T08:00:00Z" }
contacts:
  mara: [ { email: mara@saltmere.example } ]
  joss: [ { email: joss@saltmere.example } ]
smtp: { url: "smtp://127.0.0.1:2525", from: clutchward@saltmere.example }
escalation:
  - { after: 0s, notify: [mara] }
  - { after: 15min, notify: [joss] }
"""
# Each a set of rules of its own; "a" is what the recording was made under.
HIGH = {"a": "offset: 2.0", "slow": "offset: 2.0, delay: 60s", "wide": "offset: 2.0, deadband: 0.4",
        "later": "offset: 2.0, delay: 20s", "low": "offset: 2.0, priority: low"}
START = datetime.datetime(2026, 3, 1, 8, tzinfo=datetime.timezone.utc)


def stamp(seconds):
    return (START + datetime.timedelta(seconds=seconds)).strftime("%Y-%m-%dT%H:%M:%S.000000Z")


def line(seconds, topic, payload):
    return json.dumps({"tst": stamp(seconds), "topic": topic, "payload": payload, "retain": 0})


def recording():
    """Setter A goes over its limit and back six times, 10 s each; setter B is too hot from the hour
    on for half an hour, and mara acknowledges that after five minutes."""
    lines = []
    for second in range(0, 7200, 10):
        a = 37.5
        if 1800 <= second < 1920:
            a = 39.6 if second % 20 == 0 else 39.2
        b = 40.0 if 3600 <= second < 5400 else 37.5
        lines.append(line(second, "farm/setter-a/top/temperature", str(a)))
        lines.append(line(second, "farm/setter-b/top/temperature", str(b)))
        if second == 3900:
            lines.append(line(second, "clutchward/saltmere/command", json.dumps(
                {"id": "1", "by": "mara", "do": "acknowledge", "cabinet": "setter-b",
                 "alarm": "high"})))
    return "\n".join(lines) + "\n"


def run(*arguments, text=None):
    return subprocess.run([KEEPER, *map(str, arguments)], capture_output=True, check=False,
                          timeout=180, input=text)


def measure(side, key, who=None):
    return next(m for m in side["measures"] if m["measure"] == key and m["who"] == who)


class QualityTest(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.root = pathlib.Path(cls.folder.name)
        for name, high in HIGH.items():
            (cls.root / f"{name}.yaml").write_text(CONFIG.replace("HIGH", high), encoding="utf-8")
        (cls.root / "r.jsonl").write_text(recording(), encoding="utf-8")

    @classmethod
    def tearDownClass(cls):
        cls.folder.cleanup()

    def play(self, *names, options=()):
        arguments = ["quality", "--recording", self.root / "r.jsonl", "--config",
                     self.root / f"{names[0]}.yaml"]
        for name in names[1:]:
            arguments += ["--what-if", self.root / f"{name}.yaml"]
        done = run(*arguments, "--json", *options)
        self.assertEqual(done.returncode, 0, done.stderr)
        return json.loads(done.stdout)

    def test_counts_are_those_worked_out_by_hand(self):
        shown = self.play("a")
        self.assertEqual((shown["from"], shown["until"]),
                         ("2026-03-01T08:00:00.000Z", "2026-03-01T09:59:50.000Z"))
        self.assertFalse(shown["enough_time"])
        side = shown["sides"][0]
        self.assertEqual((side["raised"], side["annunciated"]), (7, 7))
        self.assertEqual(side["raised_by_rule"], {"high": 7})
        self.assertEqual((side["acknowledged"], side["never_acknowledged"]), (1, 6))
        self.assertEqual(side["answers"]["p50_s"], 300)
        self.assertEqual(measure(side, "never_acknowledged")["value"], round(600 / 7, 4))
        self.assertEqual(measure(side, "chattering")["value"], 1)
        self.assertEqual(measure(side, "chattering")["verdict"], "past")
        self.assertEqual(measure(side, "stale_a_day")["verdict"], "too_little")
        self.assertEqual(measure(side, "chatter_index")["value"], 0.05)
        self.assertEqual(measure(side, "peak_in_10_min")["value"], 6)
        worst = side["worst"][0]
        self.assertEqual((worst["cabinet"], worst["raised"], worst["chatters"]),
                         ("setter-a", 6, True))
        # It stood 10 s each time and came back by 0.3 C.
        self.assertEqual((worst["delay_longer_by_s"], worst["deadband_at_least"]), (20, 0.4))

    def test_each_person_is_told_what_escalation_says(self):
        side = self.play("a")["sides"][0]
        people = {person["contact"]: person for person in side["people"]}
        self.assertEqual(people["mara"]["alarms"], 7)
        # Reminders of the half hour's alarm until it is acknowledged, and word of the chatter.
        self.assertGreater(people["mara"]["messages"], 7)
        self.assertEqual(measure(side, "peak_in_10_min", "mara")["value"], 6)
        self.assertEqual(people["mara"]["by_urgency"]["low"], 1)
        # What rang at setter A was over before fifteen minutes, what rang at B was taken in five.
        self.assertNotIn("joss", people)

    def test_what_it_says_would_have_stopped_it_does_stop_it(self):
        shown = self.play("a", "wide", "later")
        wide, later = shown["sides"][1], shown["sides"][2]
        self.assertEqual(wide["raised"], 2)   # one of each cabinet
        self.assertEqual(later["raised"], 1)  # setter B's alone
        self.assertEqual([c["only_first"] for c in shown["comparisons"]], [0, 1])

    def test_what_if_says_what_was_missed_and_what_came_later(self):
        shown = self.play("a", "slow")
        comparison = shown["comparisons"][0]
        self.assertEqual((comparison["both"], comparison["only_first"], comparison["only_second"]),
                         (1, 1, 0))
        self.assertEqual(comparison["middle_lead_of_second_s"], -60)
        missed, both = shown["occurrences"]
        self.assertEqual((missed["cabinet"], missed["trouble"], missed["sides"][1]),
                         ("setter-a", "too hot", None))
        self.assertEqual(missed["sides"][0]["raised"], 6)
        self.assertEqual(both["sides"][0]["first"], "2026-03-01T09:00:00.000Z")
        self.assertEqual(both["sides"][1]["first"], "2026-03-01T09:01:00.000Z")

    def test_a_configuration_beside_itself_differs_in_nothing(self):
        (self.root / "again.yaml").write_text((self.root / "a.yaml").read_text(), encoding="utf-8")
        shown = self.play("a", "again")
        first, second = shown["sides"]
        first.pop("name")
        second.pop("name")
        self.assertEqual(first, second)
        self.assertEqual(shown["comparisons"][0]["middle_lead_of_second_s"], 0)
        self.assertEqual(self.play("a", "again"), self.play("a", "again"))

    def test_the_history_says_the_same_of_the_alarms(self):
        history = self.root / "h.db"
        done = run("replay", "--config", self.root / "a.yaml", "--history", history,
                   self.root / "r.jsonl")
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertEqual(sum(json.loads(each)["event"] == "raised"
                             for each in done.stdout.splitlines()), 7)
        done = run("quality", "--history", history, "--json")
        self.assertEqual(done.returncode, 0, done.stderr)
        kept = json.loads(done.stdout)
        played = self.play("a")["sides"][0]
        for key in ("raised", "annunciated", "annunciated_by_priority", "raised_by_rule",
                    "acknowledged", "never_acknowledged", "answers", "worst"):
            self.assertEqual(kept["sides"][0][key], played[key], key)
        self.assertEqual(kept["until"], "2026-03-01T10:00:00.000Z")  # the last minute's end
        # Of each person, too; what is counted a day differs by the ten seconds of that minute.
        self.assertEqual(kept["people_from"], "2026-03-01T08:00:00.000Z")
        for now, before in zip(kept["sides"][0]["people"], played["people"], strict=True):
            now.pop("messages_a_day"), before.pop("messages_a_day")
            self.assertEqual(now, before)
        self.assertEqual(measure(kept["sides"][0], "peak_in_10_min", "mara")["value"], 6)
        done = run("history", "--history", history, "--told", "--csv")
        rows = list(csv.DictReader(io.StringIO(done.stdout.decode(), newline="")))
        person = kept["sides"][0]["people"][0]
        self.assertEqual({row["contact"] for row in rows}, {"mara"})
        self.assertEqual(len(rows), person["messages"] + person["by_urgency"]["quiet"])
        self.assertEqual([row["at"] for row in rows if row["sort"] == "raised"][-1],
                         "2026-03-01T09:00:00.000Z")
        self.assertTrue(all(row["delivered_at"] == row["at"] for row in rows))
        objects = [json.loads(each) for each in run("history", "--history", history, "--told",
                                                    "--json").stdout.splitlines()]
        self.assertEqual([{key: value or "" for key, value in each.items()} for each in objects],
                         [{key: row[key] for key in objects[0]} for row in rows])
        done = run("quality", "--history", history, "--from", "2026-03-01T08:45:00Z", "--json")
        self.assertEqual(json.loads(done.stdout)["sides"][0]["raised"], 1)

    def test_a_history_says_since_when_it_keeps_who_was_told(self):
        history = self.root / "since.db"
        run("replay", "--config", self.root / "a.yaml", "--history", history, self.root / "r.jsonl")

        def told(sql):
            base = sqlite3.connect(history)
            base.executescript(sql)
            base.commit()
            base.close()
            shown = json.loads(run("quality", "--history", history, "--json").stdout)
            return shown, run("quality", "--history", history).stdout.decode()
        # As if the daemon that keeps it had begun at half past eight.
        begun = 1772353800000
        shown, text = told(f"update mark set at = {begun}; delete from told where id < {begun} << 20")
        self.assertEqual(shown["people_from"], "2026-03-01T08:30:00.000Z")
        mara = shown["sides"][0]["people"][0]
        self.assertAlmostEqual(mara["messages_a_day"], mara["messages"] * 24 / 1.5, places=3)
        self.assertIn("Who was told is not kept before 2026-03-01 08:30:00 UTC: figures a person "
                      "count from then on.", text)
        # What no channel took was not told.
        shown, text = told("update told set delivered = 0 where sort = 'reminder'")
        lost = shown["sides"][0]["people"][0]
        self.assertGreater(lost["undelivered"], 0)
        self.assertEqual(lost["messages"] + lost["undelivered"], mara["messages"])
        self.assertEqual(lost["alarms"], mara["alarms"])
        self.assertIn("mara, never delivered", text)
        # A file of the program before, which kept nothing of it.
        shown, text = told("drop table told; drop table mark; pragma user_version = 2")
        self.assertIsNone(shown["people_from"])
        self.assertEqual(shown["sides"][0]["people"], [])
        self.assertEqual(shown["sides"][0]["raised"], 7)
        self.assertIn("Who was told is not kept in this history: play a recording", text)

    def test_somebody_who_answers_after_a_while(self):
        shown = self.play("low", options=("--answer-after", "2min"))
        self.assertEqual(shown["answered_by_assumption_after_s"], 120)
        side = shown["sides"][0]
        self.assertEqual(side["unanswered_at_the_end"], 0)
        self.assertEqual(side["answers"]["p95_s"], 120)

    def test_text_for_a_terminal(self):
        done = run("quality", "--recording", self.root / "r.jsonl", "--config", self.root / "a.yaml",
                   "--what-if", self.root / "slow.yaml")
        text = done.stdout.decode()
        self.assertEqual(done.returncode, 0, done.stderr)
        for part in ("A is a.yaml\n", "B is slow.yaml\n", "Little data", "raised by high",
                     "a delay longer by 20s, or a deadband of 0.4 at least", "only A rang",
                     "B was ahead by, in the middle", "-1min", "silent", "too little data",
                     "ISA-18.2-2016 16.4.4, as a secondary article cites it"):
            self.assertIn(part, text)
        self.assertNotIn("\x1b", text)

    def test_memory_does_not_grow_with_the_recording(self):
        def record(name, hours):  # line by line: a child counts what its parent had at the fork
            with (self.root / name).open("w", encoding="utf-8") as file:
                for second in range(0, hours * 3600, 30):
                    value = 37.5 + (second // 30 % 7) * 0.01
                    file.write(line(second, "farm/setter-a/top/temperature", f"{value:.2f}") + "\n")
            return self.root / name

        def peak(recorded):
            child = subprocess.Popen([KEEPER, "quality", "--recording", recorded, "--config",
                                      self.root / "a.yaml", "--what-if",
                                      self.root / "slow.yaml", "--json"],
                                     stdout=subprocess.DEVNULL)
            _, status, usage = os.wait4(child.pid, 0)
            child.returncode = os.waitstatus_to_exitcode(status)
            self.assertEqual(child.returncode, 0)
            return usage.ru_maxrss  # kB
        short, long = record("short.jsonl", 30), record("long.jsonl", 600)
        short, long = peak(short), peak(long)
        self.assertLess(long - short, 2048)

    def test_every_scenario_rings_as_its_replay_does(self):
        scenarios = sorted((pathlib.Path(__file__).parents[2] / "scenarios").glob("*.yaml"))
        self.assertGreater(len(scenarios), 100)
        for config in scenarios:
            text = config.read_text(encoding="utf-8")
            options = []
            for key in ("from", "until"):
                if found := re.search(rf"^# {key}: *(\S+)", text, re.M):
                    options += [f"--{key}", found.group(1)]
            recorded = config.with_suffix(".jsonl")
            events = [json.loads(each) for each in run(
                "replay", "--config", config, *options, recorded).stdout.splitlines()]
            played = run("quality", "--recording", recorded, "--config", config, *options, "--json")
            self.assertIn(played.returncode, (0, 65), config)
            raised = collections.Counter(event["alarm"] for event in events
                                         if event["event"] == "raised")
            shown = json.loads(played.stdout)
            counted = shown["sides"][0]["raised_by_rule"] if shown["sides"] else {}
            self.assertEqual(counted, dict(raised), config)
            if shown["sides"]:
                self.assertEqual(shown["sides"][0]["events"], len(events), config)

    def test_bad_arguments_are_named(self):
        recorded = ("--recording", self.root / "r.jsonl")
        self.assertEqual(run("quality", *recorded).returncode, 64)
        self.assertEqual(run("quality", "--what-if", "b.yaml").returncode, 64)
        done = run("quality", *recorded, "--config", self.root / "a.yaml", "--answer-after", "soon")
        self.assertEqual(done.returncode, 64)
        self.assertIn(b"expected such as 5min", done.stderr)
        done = run("quality", "--recording", self.root / "none", "--config", self.root / "a.yaml")
        self.assertEqual(done.returncode, 66)
        (self.root / "bad.yaml").write_text("site: [", encoding="utf-8")
        done = run("quality", *recorded, "--config", self.root / "a.yaml", "--what-if",
                   self.root / "bad.yaml")
        self.assertEqual(done.returncode, 78)
        self.assertIn(b"bad.yaml:", done.stderr)
        done = run("quality", "--history", self.root / "none.db")
        self.assertEqual(done.returncode, 66)

    def test_broken_lines_and_an_empty_recording(self):
        done = run("quality", "--recording", "-", "--config", self.root / "a.yaml",
                   text=b"nonsense\n" + recording().encode())
        self.assertEqual(done.returncode, 65)
        self.assertIn(b"-:1: not a JSON object", done.stderr)
        done = run("quality", "--recording", "-", "--config", self.root / "a.yaml", text=b"")
        self.assertEqual(done.returncode, 0)
        self.assertIn(b"Nothing to count", done.stdout)


if __name__ == "__main__":
    unittest.main()
