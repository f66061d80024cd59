"""A goose batch in two cabinets, live, from the shelf to its report: simulated cabinets at sixty
times the speed, every deed by the keeper's command. Its days are in the past, told with --at, since
nobody waits a month for a test; the replay of a whole month is tests/functional/history."""

import json
import os
import pathlib
import subprocess
import time

import html5lib
from harness import KEEPER, SiteTest, main, wait_for

SIMULATOR = os.environ["CABINET_SIM"]
REFUSED = 65  # sysexits.h


class GooseTest(SiteTest):
    def clutchward(self, *words, code=0):
        run = subprocess.run([KEEPER, *map(str, words), "--state", self.daemon.state],
                             capture_output=True, text=True, timeout=60,
                             env={**os.environ, "USER": "mara"}, check=False)
        self.assertEqual(run.returncode, code, (words, run.stdout, run.stderr))
        return run.stdout + run.stderr

    def at(self, day):
        """RFC 3339 of that day of the batch; it was set 26 days and 20 hours ago."""
        seconds = self.now - (26 + 20 / 24 - day) * 86400
        return time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(seconds))

    def simulate(self):
        sims = subprocess.Popen(
            [SIMULATOR, "--broker", f"mqtt://127.0.0.1:{self.broker.port}", "--cabinet", "setter",
             "--cabinet", "hatcher", "--speed", "60", "--target", "37.2", "--day", "26", "--days",
             "30", "--eggs", "14", "--turn-every", "off", "--resolution", "0.01"])
        self.addCleanup(sims.wait)
        self.addCleanup(sims.terminate)

    def batch(self, cabinet):
        return next((each for each in (self.phone.picture(cabinet) or {}).get("batches", [])
                     if each["batch"] == "geese-3"), None)

    def test_from_the_shelf_to_the_report(self):
        self.now = time.time()
        self.settings["batches"] = []
        self.settings["cabinets"] = {"setter": {"name": "Setter"}, "hatcher": {"name": "Hatcher"}}
        # The shipped goose, but that its lockdown waits for the eggs to be moved.
        self.settings["profiles"] = {"saltmere-goose": {
            "based_on": "goose", "name": "Saltmere goose",
            "stages": [{"name": "lockdown", "begins": "moved"}]}}
        self.start()
        self.simulate()
        wait_for("both cabinets", lambda: all(
            (self.phone.picture(cabinet) or {}).get("hottest") for cabinet in ("setter", "hatcher")))

        start = ["batch", "start", "geese-3", "setter", "--set-at", self.at(0), "--stored-days", "6"]
        self.assertIn('no profile "saltmere-gose"; did you mean "saltmere-goose"?', self.clutchward(
            *start, "--profile", "saltmere-gose", "--eggs", "14", code=REFUSED))
        self.assertIn("eggs is 0; expected at least 1", self.clutchward(
            *start, "--profile", "saltmere-goose", "--eggs", "0", code=REFUSED))
        self.clutchward(*start, "--profile", "saltmere-goose", "--eggs", "14")
        wait_for("the batch", lambda: self.batch("setter"))
        self.assertEqual(self.batch("setter")["stage"], "settling")
        self.clutchward("batch", "weigh", "geese-3", "2240", "--at", self.at(0.01))
        self.assertIn("15 eggs removed, but batch", self.clutchward(
            "batch", "candle", "geese-3", "infertile=15", "--at", self.at(10), code=REFUSED))
        self.clutchward("batch", "candle", "geese-3", "infertile=2", "dead_early=1", "--at",
                        self.at(10), "--note", "one blood ring")
        self.assertIn("if it is right all the same", self.clutchward(
            "batch", "weigh", "geese-3", "2500", "--at", self.at(12), code=REFUSED))
        self.clutchward("batch", "weigh", "geese-3", "1646", "--at", self.at(14))
        self.assertIn("which has not come yet", self.clutchward(
            "batch", "candle", "geese-3", "--at", self.at(28), code=REFUSED))
        self.clutchward("batch", "weigh", "geese-3", "1552", "--at", self.at(26))
        self.assertIn("lost 11.8 % of 160.0 g an egg", self.clutchward("batch", "mass", "geese-3"))
        status, calendar = self.daemon.ask("/calendar.ics")
        self.assertEqual(status, 200)
        self.assertIn("geese-3", calendar)

        self.clutchward("batch", "move", "geese-3", "hatcher")
        wait_for("the lockdown", lambda: (self.batch("hatcher") or {}).get("stage") == "lockdown")
        wait_for("the setter to be empty", lambda: self.batch("setter") is None)
        self.clutchward("batch", "end", "geese-3", "hatched=9", "pipped=1", "dead_late=1")
        wait_for("its end", lambda: self.batch("hatcher") is None)
        self.assertIn("geese-3", self.clutchward("batch", "list", "--all"))
        self.clutchward("batch", "correct", "geese-3", "hatched=10", "dead_late=1")
        self.daemon.stop()

        page = pathlib.Path(self.folder) / "geese-3.html"
        report = json.loads(self.clutchward("report", "geese-3", "--json", "--out", page))
        self.assertEqual([each["cabinet"] for each in report["cabinets"]], ["setter", "hatcher"])
        self.assertEqual((report["eggs"], report["stored_days"], report["profile"]),
                         (14, 6, "saltmere-goose"))
        self.assertEqual([each["stage"] for each in report["stages"]],
                         ["setting", "airing", "settling", "lockdown"])
        # 12 of 14 fertile (one of them dead early), 10 of those hatched (plain division).
        self.assertEqual((report["hatch"]["fertility_percent"],
                          report["hatch"]["hatch_of_fertile_percent"],
                          report["hatch"]["hatch_of_set_percent"]), (85.71, 83.33, 71.43))
        self.assertAlmostEqual(report["mass"]["lost_percent"], (1 - 1552 / 11 / 160) * 100,
                               delta=0.01)
        self.assertEqual(len(report["corrections"]), 1)
        self.assertEqual([each["to"] for each in report["moves"]], ["hatcher"])
        # What the simulator kept, as the history has it.
        self.assertTrue(report["temperature"])
        for each in report["temperature"]:
            self.assertTrue(36.5 < each["mean"] < 38, each)
        self.assertIn("cannot_be_told", report["hatch_shift"])  # hours of readings, not weeks
        tree = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(
            page.read_text(encoding="utf-8"))
        self.assertIn("Saltmere goose", "".join(tree.itertext()))


if __name__ == "__main__":
    main()
