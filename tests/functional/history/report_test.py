"""A simulated goose batch in two cabinets, played into a history and reported: the figures are held
against the generator's own, the page against html5lib in its strict mode.

usage: report_test.py KEEPER     the keeper's command
"""
import csv
import datetime
import json
import pathlib
import re
import subprocess
import sys
import tempfile
import unittest

import html5lib

KEEPER = sys.argv.pop(1)
UTC = datetime.timezone.utc
CONFIG = """
site: Saltmere
timezone: Europe/Dublin
broker: { url: "mqtt://127.0.0.1:1883", base: clutchward/saltmere }
patterns:
  - { topic: "farm/{cabinet}/{probe}/temperature", quantity: temperature }
  - { topic: "farm/{cabinet}/{probe}/humidity", quantity: humidity }
  - { topic: "farm/{cabinet}/turned", quantity: turn }
cabinets:
  setter: { probes: { shed: room } }
profiles:
  heavy-goose:
    name: "Heavy <goose> & gander"
    days: 30
    earliest: 28
    latest: 34
    mass_loss: { by_day: 27, from: 11, to: 13 }
    recovery: 90min
    stages:
      - { name: setting, from_day: 0, target: 37.3, humidity: { from: 55, to: 63 }, turn_every: 60min }
      - name: airing
        from_day: 8
        target: 37.3
        humidity: { from: 55, to: 63 }
        turn_every: 60min
        cooling: { at: "10:00", for: 20min }
      - { name: settling, from_day: 25, target: 37.3, humidity: { from: 55, to: 63 }, turn_every: off }
      - { name: lockdown, from_day: 27, target: 36.9, humidity: { from: 70, to: 82 }, turn_every: off }
"""
SET = datetime.datetime(2026, 2, 1, 8, tzinfo=UTC)  # winter: Dublin is on UTC throughout
STEP = datetime.timedelta(minutes=5)
HOT = SET + datetime.timedelta(days=5, hours=4)      # an hour 1.6 C above
COLD = SET + datetime.timedelta(days=20, hours=10)   # three hours 3.5 C below
DRY = SET + datetime.timedelta(days=12, hours=3)     # six hours of 50 %
MOVED = SET + datetime.timedelta(days=27)
ENDED = SET + datetime.timedelta(days=31)


def within(at, start, **length):
    return start <= at <= start + datetime.timedelta(**length)


def off_target(at):
    """What the simulated air is away from its target, and whether that is an airing."""
    if within(at, HOT, hours=1):
        return 1.6, False
    if within(at, COLD, hours=3):
        return -3.5, False
    day = (at - SET).total_seconds() / 86400
    if 8 <= day < 25 and at.hour == 10 and 5 <= at.minute <= 25:
        return (-1.0 if at.minute == 25 else -3.0), True
    return 0.0, False


def beyond(level, side):
    """Hours and degree-hours beyond the level, cut fine; straight lines between the readings."""
    hours = area = 0.0
    at = SET
    while at < ENDED:
        (a, airs), (b, aired) = off_target(at), off_target(at + STEP)
        if not airs and not aired and (a or b):
            for i in range(300):  # a second each
                over = side * (a + (b - a) * (i + 0.5) / 300) - level
                hours += (over > 0) / 3600
                area += max(over, 0) / 3600
        at += STEP
    return hours, area


def recording():
    lines = []

    def say(at, topic, payload):
        lines.append((at, json.dumps({"tst": at.strftime("%Y-%m-%dT%H:%M:%S.000000Z"),
                                      "topic": topic, "payload": payload, "retain": 0})))

    def do(at, **keys):
        say(at, "clutchward/saltmere/command", json.dumps({"by": "mara", "batch": "geese-3", **keys}))

    do(SET, do="batch_start", cabinet="setter", profile="heavy-goose", eggs=14, stored_days=6,
       set_at=SET.strftime("%Y-%m-%dT%H:%M:%SZ"), note="first <b>of the season</b>")
    at = SET
    while at <= ENDED:
        cabinet = "setter" if at < MOVED else "hatcher"
        late = at >= MOVED
        value = (36.9 if late else 37.3) + off_target(at)[0]
        damp = 50 if within(at, DRY, hours=6) else 76 if late else 59
        second = at + datetime.timedelta(seconds=1)
        say(second, f"farm/{cabinet}/top/temperature", f"{value + 0.1:.3f}")
        say(second, f"farm/{cabinet}/low/temperature", f"{value - 0.1:.3f}")
        say(second, f"farm/{cabinet}/top/humidity", str(damp))
        if not late:
            say(second, "farm/setter/shed/temperature", "12.5")
        if at.minute == 30 and at < SET + datetime.timedelta(days=25):
            say(second, "farm/setter/turned", "1")
        at += STEP

    def later(days, minutes):
        return SET + datetime.timedelta(days=days, minutes=minutes)

    do(later(0, 7), do="weighed", grams=2240)
    do(later(10, 32), do="candled", removed={"infertile": 2, "dead_early": 1}, note="<i>ring</i>")
    do(later(14, 32), do="weighed", grams=1646, eggs=11)
    do(later(24, 32), do="candled")
    do(later(26, 32), do="weighed", grams=1555, eggs=11)
    answer = {"by": "joss", "do": "acknowledge", "cabinet": "setter"}
    say(HOT + datetime.timedelta(minutes=30), "clutchward/saltmere/command", json.dumps(answer))
    say(HOT + datetime.timedelta(hours=2), "clutchward/saltmere/command",
        json.dumps({"by": "mara", "do": "reset", "cabinet": "setter"}))
    do(MOVED, do="batch_move", to="hatcher")
    do(ENDED, do="batch_end", outcome={"hatched": 9, "pipped": 1, "dead_late": 1})
    lines.sort(key=lambda line: line[0])
    return "\n".join(text for _, text in lines) + "\n"


def run(*arguments):
    return subprocess.run([KEEPER, *map(str, arguments)], capture_output=True, check=False,
                          timeout=180)


class ReportTest(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.root = pathlib.Path(cls.folder.name)
        (cls.root / "c.yaml").write_text(CONFIG, encoding="utf-8")
        (cls.root / "r.jsonl").write_text(recording(), encoding="utf-8")
        cls.history = cls.root / "h.db"
        played = run("replay", "--config", cls.root / "c.yaml", "--history", cls.history,
                     cls.root / "r.jsonl")
        assert played.returncode == 0, played.stderr
        assert not played.stderr, played.stderr
        done = run("report", "geese-3", "--history", cls.history, "--json")
        assert done.returncode == 0, done.stderr
        cls.report = json.loads(done.stdout)

    @classmethod
    def tearDownClass(cls):
        cls.folder.cleanup()

    def test_the_head_says_what_it_was_and_where(self):
        report = self.report
        self.assertEqual((report["eggs"], report["stored_days"], report["timezone"]),
                         (14, 6, "Europe/Dublin"))
        self.assertEqual(report["ended_at"], "2026-03-04T08:00:00.000Z")
        self.assertEqual([(each["cabinet"], each["from"][:10], each["to"][:10])
                          for each in report["cabinets"]],
                         [("setter", "2026-02-01", "2026-02-28"),
                          ("hatcher", "2026-02-28", "2026-03-04")])
        self.assertEqual([each["stage"] for each in report["stages"]],
                         ["setting", "airing", "settling", "lockdown"])

    def test_hours_beyond_the_target_are_those_that_were_simulated(self):
        for step in self.report["steps"]:
            hours, area = beyond(step["by"], 1 if step["side"] == "above" else -1)
            self.assertAlmostEqual(step["hours"], hours, delta=0.01, msg=step)
            self.assertAlmostEqual(step["degree_hours"], area, delta=0.01, msg=step)
        self.assertGreater(self.report["steps"][0]["hours"], 1)
        hot, cold = self.report["excursions"]
        self.assertEqual((hot["side"], hot["from"][:16], hot["farthest"]),
                         ("above", HOT.strftime("%Y-%m-%dT%H:%M"), 1.6))
        self.assertEqual((cold["side"], cold["from"][:16], cold["farthest"]),
                         ("below", COLD.strftime("%Y-%m-%dT%H:%M"), -3.5))

    def test_the_curve_has_the_air_and_not_the_room(self):
        hours = self.report["temperature"]
        self.assertEqual(len(hours), 31 * 24)
        self.assertEqual(hours[0], {"at": "2026-02-01T08:00:00.000Z", "min": 37.2, "mean": 37.3,
                                    "max": 37.4})
        self.assertEqual(self.report["temperature_summary"]["coldest"], 33.7)
        self.assertEqual(self.report["temperature_summary"]["hottest"], 39.0)
        damp = self.report["humidity_summary"]
        self.assertEqual(damp["above_hours"], 0)
        # Six hours of 50, and on both sides 5 of the 9 points from 59 down to 50 in five minutes.
        self.assertAlmostEqual(damp["below_hours"], 6 + 2 * 5 / 9 * 5 / 60, delta=0.01)

    def test_alarms_and_who_answered_how_fast(self):
        hot = next(each for each in self.report["alarms"] if each["alarm"] == "hot")
        self.assertEqual((hot["answered_by"], hot["latched"], hot["priority"]),
                         ("joss", True, "high"))
        raised = datetime.datetime.fromisoformat(hot["raised"].replace("Z", "+00:00"))
        waited = (HOT + datetime.timedelta(minutes=30) - raised).total_seconds() / 60
        self.assertAlmostEqual(hot["answer_minutes"], waited, delta=0.06)
        low = next(each for each in self.report["alarms"] if each["alarm"] == "low")
        self.assertIsNone(low["answered_by"])

    def test_turns_airings_and_the_eggs(self):
        report = self.report
        turns = {each["date"]: each["by_machine"] for each in report["turning"]}
        self.assertEqual({turns[f"2026-02-{day:02}"] for day in range(2, 26)}, {24})
        self.assertEqual([each["verdict"] for each in report["airings"]], ["good"] * 17)
        # 12 of 14 fertile, 9 of those hatched (plain division).
        hatch = report["hatch"]
        self.assertEqual((hatch["fertility_percent"], hatch["hatch_of_fertile_percent"],
                          hatch["hatch_of_set_percent"]), (85.71, 75.0, 64.29))
        self.assertEqual({each["class"]: each["eggs"] for each in hatch["classes"]},
                         {"dead early": 1, "dead middle": 0, "dead late": 1,
                          "pipped, not hatched": 1, "culled": 0})
        mass = report["mass"]
        self.assertAlmostEqual(mass["lost_percent"], (1 - 1555 / 11 / 160) * 100, delta=0.01)
        self.assertEqual(mass["weighings"][0]["grams_an_egg"], 160)
        self.assertAlmostEqual(mass["weighings"][1]["wanted_grams"],
                               160 * (1 - 0.12 * (14 + 32 / 1440) / 27), delta=0.01)

    def test_the_cold_spell_and_the_shift_state_their_span(self):
        spell, = self.report["cold_spells"]
        self.assertEqual(spell["coldest_air"], 33.8)
        self.assertTrue(33.8 < spell["coldest_egg"] < 35)
        # A goose's egg of 160 g lags for longer than a hen's (incubation/egg_heat.h has the formula);
        # who says that it lags less gets a colder egg out of the same air.
        self.assertGreater(spell["egg_lag_min"], 52)
        quick, = json.loads(run("report", "geese-3", "--history", self.history, "--json",
                                "--egg-lag", "10").stdout)["cold_spells"]
        self.assertEqual(quick["egg_lag_min"], 10)
        self.assertLess(quick["coldest_egg"], spell["coldest_egg"])
        self.assertNotEqual(run("report", "geese-3", "--history", self.history, "--egg-lag",
                                "0").returncode, 0)
        shift = self.report["hatch_shift"]
        self.assertLess(shift["earliest_hours"], shift["latest_hours"])
        self.assertTrue(shift["earliest_hours"] <= shift["hours"] <= shift["latest_hours"])
        self.assertIn("cold spells", [each["cause"] for each in shift["from"]])

    def test_the_head_has_what_the_rest_says(self):
        report = self.report
        self.assertEqual(report["site"], "Saltmere")
        glance = {each["what"]: (each["figure"], each["of"]) for each in report["glance"]}
        self.assertEqual(glance["Hatch of fertile"], ("75.0 %", "9 of 12"))
        self.assertEqual(glance["Hatch of set"], ("64.3 %", "9 of 14"))
        self.assertEqual(glance["Fertility"], ("85.7 %", "12 of 14"))
        self.assertEqual(glance["Mass lost"], ("11.7 %", "the line asks for 11.6 %"))
        hours = {each["side"]: each["hours"] for each in reversed(report["steps"])}
        self.assertEqual(glance["Too warm"], (f"{hours['above']:.1f} h", "more than 0.8 °C above"))
        self.assertEqual(glance["Too cool"], (f"{hours['below']:.1f} h", "more than 1.4 °C below"))
        alarms = report["alarms"]
        self.assertEqual(glance["Alarms"], (str(len(alarms)), "%d high, %d unanswered" % (
            sum(each["priority"] == "high" for each in alarms),
            sum(each["answered"] is None for each in alarms))))

    def test_the_page_is_strict_html_and_needs_nothing_from_outside(self):
        page = self.root / "geese-3.html"
        done = run("report", "geese-3", "--history", self.history, "--out", page)
        self.assertEqual((done.returncode, done.stdout), (0, b""), done.stderr)
        text = page.read_text(encoding="utf-8")
        tree = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(text)
        said = " ".join("".join(tree.itertext()).split())
        self.assertIn("first <b>of the season</b>", said)
        self.assertIn("Heavy <goose> & gander", said)
        self.assertIn("Hatch of fertile75 % (9 of 12)", said.replace("\n", ""). replace(
            "Hatch of fertile 75", "Hatch of fertile75"))
        self.assertIsNone(re.search(r"(src|href|url)\s*[=(]|@import|<script", text))
        self.assertEqual(text.count("<svg"), 2)

    def test_csv_says_the_same(self):
        folder = self.root / "csv"
        done = run("report", "geese-3", "--history", self.history, "--csv", folder)
        self.assertEqual((done.returncode, done.stdout), (0, b""), done.stderr)
        for part in ("temperature", "humidity", "steps", "excursions", "alarms", "turning",
                     "airings", "candlings", "moves", "stages"):
            with open(folder / f"{part}.csv", encoding="utf-8", newline="") as file:
                self.assertEqual(len(list(csv.DictReader(file))), len(self.report[part]), part)
        with open(folder / "batch.csv", encoding="utf-8", newline="") as file:
            row, = csv.DictReader(file)
        self.assertEqual((row["batch"], row["hatch_of_set_percent"]), ("geese-3", "64.29"))

    def test_batches_stand_beside_one_another(self):
        done = run("report", "--compare", "geese-3", "geese-3", "--history", self.history, "--json")
        first, second = json.loads(done.stdout)
        self.assertEqual(first, second)
        self.assertEqual(first["hatch_of_fertile_percent"], 75.0)
        done = run("report", "--compare", "geese-3", "geese-3", "--history", self.history)
        self.assertIn(b"hatch of fertile percent", done.stdout)

    def test_what_is_not_there_is_said(self):
        done = run("report", "gese-3", "--history", self.history)
        self.assertEqual(done.returncode, 65)
        self.assertIn(b'has no batch "gese-3"; did you mean "geese-3"?; it has geese-3',
                      done.stderr)
        done = run("report", "geese-3", "--history", self.root / "none.db")
        self.assertEqual(done.returncode, 66)
        done = run("report", "geese-3", "geese-4", "--history", self.history)
        self.assertEqual(done.returncode, 64)


class FahrenheitTest(unittest.TestCase):
    """A morning at a site that reads °F, of a batch whose eggs are not all accounted for."""

    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.root = pathlib.Path(cls.folder.name)
        config = CONFIG.replace("timezone:", "show: fahrenheit\ntimezone:").replace(
            "setter: {", "setter: { name: Setter A,")
        (cls.root / "c.yaml").write_text(config, encoding="utf-8")
        lines = []

        def say(minute, topic, payload):
            at = SET + datetime.timedelta(minutes=minute)
            lines.append(json.dumps({"tst": at.strftime("%Y-%m-%dT%H:%M:%S.000000Z"),
                                     "topic": topic, "payload": payload, "retain": 0}))

        def do(minute, **keys):
            say(minute, "clutchward/saltmere/command",
                json.dumps({"by": "mara", "batch": "geese-4", **keys}))

        do(0, do="batch_start", cabinet="setter", profile="heavy-goose", eggs=50,
           set_at=SET.strftime("%Y-%m-%dT%H:%M:%SZ"))
        for minute in range(240):
            say(minute, "farm/setter/top/temperature", "39.9" if 120 <= minute < 140 else "37.5")
            if minute == 125:
                do(minute, do="snooze", cabinet="setter", alarm="high", minutes=30)
            if minute == 127:
                do(minute, do="unsnooze", cabinet="setter", alarm="high")
        do(241, do="candled", removed={"infertile": 4})
        do(242, do="weighed", grams=7000)
        do(243, do="batch_end", outcome={"hatched": 40})
        (cls.root / "r.jsonl").write_text("\n".join(lines) + "\n", encoding="utf-8")
        cls.history = cls.root / "h.db"
        played = run("replay", "--config", cls.root / "c.yaml", "--history", cls.history,
                     cls.root / "r.jsonl")
        assert played.returncode == 0, played.stderr

    @classmethod
    def tearDownClass(cls):
        cls.folder.cleanup()

    def printed(self, *arguments):
        done = run(*arguments, "--history", self.history)
        self.assertEqual(done.returncode, 0, done.stderr)
        return done.stdout.decode()

    def page(self):
        tree = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(
            self.printed("report", "geese-4"))
        return " ".join("".join(tree.itertext()).split())

    def test_people_read_fahrenheit_and_programs_celsius(self):
        said = self.page()
        self.assertIn("hottest 103.82 °F", said)
        self.assertIn("more than 1.44 °F above", said)
        self.assertNotIn("°C", said)
        self.assertIn("Target °F", said)
        report = json.loads(self.printed("report", "geese-4", "--json"))
        self.assertEqual(report["temperature_summary"]["hottest"], 39.9)
        self.assertEqual(report["stages"][0]["target"], 37.3)
        folder = self.root / "csv"
        self.printed("report", "geese-4", "--csv", folder)
        with open(folder / "stages.csv", encoding="utf-8", newline="") as file:
            self.assertEqual(next(csv.DictReader(file))["target_f"], "99.14")
        with open(folder / "alarms.csv", encoding="utf-8", newline="") as file:
            high, = [row for row in csv.DictReader(file) if row["alarm"] == "high"]
        self.assertEqual((high["value"], high["limit"]), ("103.82", "102.74"))

    def test_cabinets_are_named_and_deeds_are_listed(self):
        said = self.page()
        self.assertIn("CabinetSetter A, 2026-02-01 08:00", said)
        self.assertIn("2026-02-01 12:01: candled, removed: 4 infertile, by mara", said)
        self.assertIn("2026-02-01 12:02: weighed, 46 eggs, 7000 g, by mara", said)
        self.assertIn("2026-02-01 12:03: ended, by mara", said)

    def test_eggs_that_nobody_accounted_for_leave_a_bound(self):
        # 40 hatched, 4 infertile, 6 unknown: 40 to 46 of 50 were fertile (plain division).
        hatch = json.loads(self.printed("report", "geese-4", "--json"))["hatch"]
        self.assertEqual((hatch["unaccounted"], hatch["fertility_percent"],
                          hatch["fertility_percent_at_most"]), (6, 80.0, 92.0))
        self.assertEqual((hatch["hatch_of_fertile_percent"],
                          hatch["hatch_of_fertile_percent_at_least"]), (100.0, 86.96))
        said = self.page()
        self.assertIn("at least 80 % (40 of 50; 6 not accounted for count as infertile, "
                      "at most 92 %)", said)
        self.assertIn("at most 100 % (40 of 40; at least 86.96 %", said)
        compared = self.printed("report", "--compare", "geese-4")
        self.assertRegex(compared, r"fertility percent +at least 80\n")
        self.assertRegex(compared, r"hatch of fertile percent +at most 100\n")
        self.assertRegex(compared, r"not accounted for +6\n")
        self.assertRegex(compared, r"mean temperature °F +99\.\d{1,2}\n")
        self.assertRegex(compared, r"set at +2026-02-01 08:00 GMT\n")

    def test_the_history_says_names_and_words_beside_the_ids(self):
        events = self.printed("history", "--events")
        self.assertIn("setter (Setter A)  geese-4  high (too hot)  raised", events)
        self.assertIn("snooze ended, raised again", events)
        self.assertIn('"event":"raised_again"', self.printed("history", "--events", "--json"))


if __name__ == "__main__":
    unittest.main()
