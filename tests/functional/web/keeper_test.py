"""The keeper's command against the web server as a program: words, exit codes, JSON, and a daemon
that is slow or not there. Runs both as they are; imitates neither."""

import json
import os
import pathlib
import stat
import subprocess
import sys
import tempfile
import time
import unittest
import urllib.request

sys.path.append(str(pathlib.Path(__file__).resolve().parents[2]))
from lines import read_line  # noqa: E402
from ports import free_port  # noqa: E402

SITE_SERVER = os.environ["SITE_SERVER"]
CLUTCHWARD = os.environ["CLUTCHWARD"]
PROFILES = os.environ["PROFILES"]

EX_USAGE, EX_DATAERR, EX_UNAVAILABLE, EX_IOERR, EX_CONFIG = 64, 65, 69, 74, 78


class Site:
    """The server over the made-up site, in a state folder of its own."""

    def __init__(self, *more):
        self.folder = tempfile.TemporaryDirectory()
        self.state = self.folder.name
        self.port = free_port()
        self.process = subprocess.Popen(
            [SITE_SERVER, self.state, f"127.0.0.1:{self.port}", *more],
            stdout=subprocess.PIPE, text=True)
        said = read_line(self.process)
        if said != "ready\n":
            self.close()
            raise AssertionError(f"the server said {said!r}")

    def close(self):
        if self.process.stdout.closed:
            return []
        self.process.terminate()
        rest = self.process.stdout.read()
        self.process.stdout.close()
        self.process.wait()
        self.folder.cleanup()
        return [json.loads(line) for line in rest.splitlines()]


def run(*arguments, **environment):
    clean = {k: v for k, v in os.environ.items() if k not in ("CLUTCHWARD_STATE", "NO_COLOR")}
    return subprocess.run([CLUTCHWARD, *arguments], capture_output=True, text=True,
                          env={**clean, "USER": "jonas", **environment}, timeout=60)


class Keeper(unittest.TestCase):
    def setUp(self):
        self.site = Site()
        self.addCleanup(self.site.close)

    def keeper(self, *arguments, **environment):
        return run(*arguments, "--state", self.site.state, **environment)

    def test_status_is_one_aligned_screen(self):
        done = self.keeper("status")
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        lines = done.stdout.splitlines()
        self.assertEqual(lines[0], "1 of 5 cabinets needs you")
        self.assertEqual(lines[1], "Saltmere, 09:12:05 GMT")
        self.assertEqual(lines[3], "NEEDS YOU    setter-a   39.8 °C rising  hens-setter-a: "
                                   "Domestic hen, day 12 of 21, setting, target 37.5 °C")
        self.assertIn("Too hot (high of hens-setter-a) 39.8 °C, limit 39.5 °C, worst 40.1 °C", lines[4])
        self.assertIn("Nobody has it yet. Since 09:00 (12 min), high priority", lines[5])
        self.assertIn("Mara has it since 09:05", done.stdout)
        self.assertIn("The watch\n", done.stdout)
        self.assertNotIn("\033", done.stdout)

    def resting(self, *arguments):
        site = Site("resting")
        self.addCleanup(site.close)
        return run(*arguments, "--state", site.state).stdout

    def test_what_is_not_watched_takes_one_line_and_who_has_it_stands_first(self):
        lines = self.resting("status").splitlines()
        at = next(i for i, line in enumerate(lines) if "  setter-a  " in line)
        self.assertTrue(lines[at + 2].strip().startswith("Snoozed by Mara until 09:40. Since"),
                        lines[at + 2])
        self.assertEqual(lines[at + 3].strip(),
                         "Just out of range: spread; not watched (somebody is there and it "
                         "waits for news): low of hens-setter-a, cool of hens-setter-a, "
                         "turning of hens-setter-a")
        self.assertNotIn("low of", lines[at + 4])

    def test_rules_tell_the_priority_that_is_in_force(self):
        self.assertIn("high priority, to be reset by hand; medium priority now  (now unacknowledged)",
                      self.resting("rules", "setter-a"))
        self.assertNotIn("priority now", self.keeper("rules", "setter-a").stdout)

    def test_help_names_a_verb_and_its_minutes_once(self):
        self.assertNotIn("pass_on", run("--help").stdout)
        self.assertIn("pass-on", run("--help").stdout)
        self.assertIn("30, or as many as the alarm allows", " ".join(
            run("snooze", "--help").stdout.split()))

    def test_a_deed_without_a_cabinet_says_what_is_now_true(self):
        self.assertEqual(self.resting("acknowledge", "--alarm", "broker"),
                         "Broker connection lost (broker): Jonas has it since 09:12\n")
        self.assertEqual(self.keeper("message-test", "mara").stdout,
                         "A test message goes to Mara by email\n")

    def test_status_has_colours_on_a_terminal_only(self):
        def on_terminal(**environment):
            done = subprocess.run(
                ["script", "-qec", f"{CLUTCHWARD} status --state {self.site.state}", "/dev/null"],
                capture_output=True, text=True, timeout=60,
                env={**os.environ, "TERM": "xterm", **environment})
            return done.stdout
        self.assertIn("\033[1;31mNEEDS YOU", on_terminal(NO_COLOR=""))
        self.assertNotIn("\033", on_terminal(NO_COLOR="1"))
        self.assertNotIn("\033", on_terminal(TERM="dumb"))

    def test_status_as_json(self):
        status = json.loads(self.keeper("status", "--json").stdout)
        self.assertEqual(status["watch"]["site"], "Saltmere")
        self.assertTrue(status["watch"]["broker"]["linked"])
        self.assertEqual(len(status["cabinets"]), 5)

    def test_rules_say_when_they_ring_and_who_has_said_so(self):
        done = self.keeper("rules", "setter-a")
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        self.assertIn("batch hens-setter-a\n  high        above 39.5 °C, once it has lasted 5 min; "
                      "high priority, to be reset by hand  (now unacknowledged)\n"
                      "              from built-in; delay from batch hens-setter-a\n", done.stdout)
        self.assertIn("the machine\n  silent      no reading for 5 min", done.stdout)
        rule = next(each for each in json.loads(self.keeper("rules", "setter-a", "--json").stdout)
                    if each["rule"] == "high")
        self.assertEqual((rule["limit"], rule["delay"]), (39.5, 300))
        self.assertEqual(rule["from"][1], {"layer": "batch hens-setter-a", "keys": ["delay"]})
        self.assertNotEqual(self.keeper("rules", "nowhere").returncode, 0)

    def test_state_folder_from_the_environment(self):
        done = run("status", CLUTCHWARD_STATE=self.site.state)
        self.assertEqual(done.returncode, 0)

    def test_acknowledge_says_what_is_now_true(self):
        done = self.keeper("acknowledge", "setter-a", "hi")
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        self.assertEqual(done.stdout,
                         "Setter A: 39.8 °C rising\n"
                         "high of hens-setter-a acknowledged, Jonas has it since 09:12\n")
        again = self.keeper("acknowledge", "--cabinet", "setter-a", "--alarm", "high", "--by", "mara")
        self.assertEqual(again.returncode, EX_DATAERR)
        self.assertEqual(again.stderr, "clutchward: nothing to acknowledge: no alarm is raised\n")
        self.assertEqual(again.stdout, "")
        refused = self.keeper("acknowledge", "setter-a", "--json")
        self.assertEqual(refused.returncode, EX_DATAERR)
        self.assertFalse(json.loads(refused.stdout)["ok"])

    def test_every_deed_reaches_the_daemon_as_its_word(self):
        spoken = [("acknowledge", "acknowledge"), ("snooze", "snooze"), ("unsnooze", "unsnooze"),
                  ("reset", "reset"), ("pass-on", "pass_on"), ("pass_on", "pass_on"),
                  ("attend", "attend"), ("attended", "attended"), ("out-of-service", "out_of_service"),
                  ("out_of_service", "out_of_service"), ("in-service", "in_service"),
                  ("in_service", "in_service"), ("turned", "turned"), ("cool", "cool")]
        for verb, _ in spoken:
            self.keeper(verb, "setter-b")
        self.keeper("snooze", "setter-a", "high", "--minutes", "7.5", "--batch", "hens", "--by", "Odile")
        self.keeper("out-of-service", "setter-a", "high", "--until", "2026-03-14T08:00:00Z",
                    "--reason", "door seal")
        self.keeper("batch", "start", "hens-13", "setter-e", "--profile", "hen", "--eggs", "48",
                    "--set-at", "2026-03-13T08:00:00+01:00")
        self.keeper("batch", "move", "hens-setter-a", "hatcher")
        self.keeper("batch", "end", "hens-setter-b")
        self.keeper("message-test", "mara")
        self.keeper("acknowledge", "--alarm", "broker")
        commands = self.site.close()
        ids = [command.pop("id") for command in commands]
        self.assertEqual(len(set(ids)), len(ids))
        self.assertTrue(all(len(each) == 32 for each in ids))
        self.assertEqual([command["do"] for command in commands[:len(spoken)]],
                         [word for _, word in spoken])
        self.assertEqual(commands[len(spoken):], [
            {"by": "Odile", "do": "snooze", "cabinet": "setter-a", "batch": "hens-setter-a",
             "alarm": "high", "minutes": 7.5},
            {"by": "jonas", "do": "out_of_service", "cabinet": "setter-a", "alarm": "high",
             "until": "2026-03-14T08:00:00.000Z", "reason": "door seal"},
            {"by": "jonas", "do": "batch_start", "cabinet": "setter-e", "batch": "hens-13",
             "profile": "hen", "set_at": "2026-03-13T07:00:00.000Z", "eggs": 48},
            {"by": "jonas", "do": "batch_move", "batch": "hens-setter-a", "to": "hatcher-1"},
            {"by": "jonas", "do": "batch_end", "batch": "hens-setter-b"},
            {"by": "jonas", "do": "message_test", "contact": "mara"},
            {"by": "jonas", "do": "acknowledge", "alarm": "broker"},
        ])

    def test_a_beginning_of_several_names_lists_them(self):
        done = self.keeper("acknowledge", "setter")
        self.assertEqual(done.returncode, EX_USAGE)
        self.assertEqual(done.stderr, 'clutchward: cabinet "setter" could be any of setter-a, setter-b, '
                                      "setter-c, setter-d\n")

    def test_a_name_that_nobody_has_is_the_daemons_to_refuse(self):
        done = self.keeper("turned", "oven")
        self.assertEqual((done.returncode, done.stderr),
                         (EX_DATAERR, 'clutchward: no cabinet "oven"\n'))

    def test_a_time_out_is_tried_once_more_under_the_same_id(self):
        begin = time.monotonic()
        done = self.keeper("out-of-service", "setter-b", "--minutes", "5", "--reason", "never")
        self.assertEqual(done.returncode, EX_DATAERR)  # the second time it is answered
        self.assertGreater(time.monotonic() - begin, 9)
        commands = self.site.close()
        self.assertEqual(len(commands), 2)
        self.assertEqual(commands[0], commands[1])

    def test_no_daemon(self):
        with tempfile.TemporaryDirectory() as empty:
            for verb in (["status"], ["turned", "setter-a"], ["message-test"]):
                done = run(*verb, "--state", empty)
                self.assertEqual((done.returncode, done.stdout), (EX_UNAVAILABLE, ""))
                self.assertEqual(done.stderr,
                                 f"clutchward: the daemon cannot be reached at {empty}/control.sock: there "
                                 "is no such socket. Is clutchwardd running? If its state lies "
                                 "elsewhere, give --state DIR or set CLUTCHWARD_STATE.\n")

    def test_a_dead_daemons_socket(self):
        self.site.process.kill()
        self.site.process.wait()
        done = self.keeper("status")
        self.assertEqual(done.returncode, EX_UNAVAILABLE)
        self.assertIn(f"{self.site.state}/control.sock", done.stderr)
        self.assertIn("Is clutchwardd running?", done.stderr)

    def test_socket_file(self):
        found = os.stat(f"{self.site.state}/control.sock")
        self.assertTrue(stat.S_ISSOCK(found.st_mode))
        self.assertEqual(stat.S_IMODE(found.st_mode), 0o660)

    def test_page_over_the_network(self):
        with urllib.request.urlopen(f"http://127.0.0.1:{self.site.port}/", timeout=60) as page:
            self.assertIn("1 of 5 cabinets needs you", page.read().decode())
        with self.assertRaises(urllib.error.HTTPError) as refused:
            urllib.request.urlopen(f"http://127.0.0.1:{self.site.port}/api/command", b"{}", timeout=60)
        self.assertEqual(refused.exception.code, 403)
        refused.exception.close()

    def test_metrics_as_another_program_reads_them(self):
        try:
            from prometheus_client.openmetrics.parser import text_string_to_metric_families
        except ImportError:
            self.skipTest("python3-prometheus-client is not installed")
        with urllib.request.urlopen(f"http://127.0.0.1:{self.site.port}/metrics", timeout=60) as answer:
            self.assertEqual(answer.headers["Content-Type"],
                             "application/openmetrics-text; version=1.0.0; charset=utf-8")
            families = {f.name: f for f in text_string_to_metric_families(answer.read().decode())}
        samples = {s.labels["cabinet"]: s.value
                   for s in families["clutchward_cabinet_temperature_celsius"].samples}
        self.assertEqual(samples, {"setter-a": 39.8, "hatcher-1": 36, "setter-b": 37.5,
                                   "setter-d": 37.5})

    def test_deeds_on_a_batch_become_its_commands(self):
        self.keeper("batch", "candle", "hens-setter-a", "infertile=2", "dead_early=1", "--note", "clear")
        self.keeper("batch", "weigh", "hens-setter-a", "2710.5", "--eggs", "48", "--sure")
        self.keeper("batch", "split", "hens-setter-a", "hens-b", "setter-b", "--eggs", "5")
        self.keeper("batch", "correct", "hens-setter-a", "--eggs", "50", "--stored-days", "4")
        self.keeper("batch", "end", "hens-setter-a", "hatched=40", "--at", "2026-03-13T08:00:00Z")
        refused = self.keeper("batch", "candle", "hens-setter-a", "infertil=2")
        self.assertEqual((refused.returncode, refused.stderr),
                         (EX_USAGE, 'clutchward: no fate "infertil"; did you mean "infertile"?\n'))
        self.assertEqual(self.keeper("batch", "weigh", "hens-setter-a").returncode, EX_USAGE)
        sent = [{k: v for k, v in each.items() if k not in ("id", "by")} for each in self.site.close()]
        self.assertEqual(sent, [
            {"do": "candled", "batch": "hens-setter-a", "removed": {"infertile": 2, "dead_early": 1},
             "note": "clear"},
            {"do": "weighed", "batch": "hens-setter-a", "eggs": 48, "grams": 2710.5, "sure": True},
            {"do": "batch_split", "batch": "hens-setter-a", "eggs": 5, "to": "setter-b",
             "new_batch": "hens-b"},
            {"do": "batch_correct", "batch": "hens-setter-a", "eggs": 50, "stored_days": 4.0},
            {"do": "batch_end", "batch": "hens-setter-a", "at": "2026-03-13T08:00:00.000Z",
             "outcome": {"hatched": 40}}])

    def test_batches_are_listed_and_shown(self):
        listed = self.keeper("batch", "list")
        self.assertEqual(listed.stdout, "geese-3  Domestic goose, 11 of 14 eggs, in setter-a, set, "
                                        "day 12 of 30; next: Weigh the eggs: day 14 "
                                        "(2026-03-15 08:00 GMT)\n")
        self.assertIn("hens-2  Domestic hen", self.keeper("batch", "list", "--all").stdout)
        shown = self.keeper("batch", "show", "geese").stdout
        self.assertIn("2026-03-11 07:00 GMT  candled, 3 infertile taken out (clear)  joss\n", shown)
        self.assertIn("2026-03-01 08:05 GMT  weighed 14 eggs, 2240.0 g  mara\n", shown)
        self.assertIn("2026-03-11 08:00 GMT  Candle: day 10 (done)\n", shown)
        self.assertIn("2026-03-29 09:00 IST to 2026-04-04 09:00 IST  Hatching expected\n", shown)
        unknown = self.keeper("batch", "show", "gese-3")
        self.assertEqual((unknown.returncode, unknown.stderr),
                         (EX_DATAERR, 'clutchward: no batch "gese-3"; did you mean "geese-3"?\n'))
        self.assertEqual(json.loads(self.keeper("batch", "show", "geese-3", "--json").stdout)
                         ["eggs_left"], 11)

    def test_mass_names_the_loss_and_the_humidity_that_would_mend_it(self):
        # 160 g an egg at setting, 150 g on day 10: (160 - 150) / 160 = 6.25 %; the line of
        # Hand-Rearing Birds (figure 3.1) to 12 % on day 27 asks for 12 x 10 / 27 = 4.4 %.
        told = json.loads(self.keeper("batch", "mass", "geese-3", "--json").stdout)
        self.assertAlmostEqual(told["lost"], 6.25, delta=0.01)
        self.assertAlmostEqual(told["line"], 4.44, delta=0.01)
        self.assertAlmostEqual(told["projected"], 6.25 / 10 * 27, delta=0.05)
        # The deficit rule: 100 - (100 - 55.25) x wanted / observed, both a day.
        self.assertAlmostEqual(told["humidity_wanted"], 100 - 44.75 * (5.75 / 17) / 0.625, delta=0.1)
        lines = self.keeper("batch", "mass", "geese-3").stdout.splitlines()
        self.assertEqual(lines[0], "geese-3, day 10.0: lost 6.2 % of 160.0 g an egg")
        self.assertIn("from 55 % humidity to about 76 %", lines[3])
        drier = json.loads(self.keeper("batch", "mass", "geese-3", "--humidity", "40", "--json").stdout)
        self.assertAlmostEqual(drier["humidity_wanted"], 100 - 60 * (5.75 / 17) / 0.625, delta=0.1)
        none = self.keeper("batch", "mass", "hens-2")
        self.assertEqual(none.returncode, EX_DATAERR)
        self.assertIn("says no mass_loss", none.stderr)


class WithoutDaemon(unittest.TestCase):
    def test_usage(self):
        for wrong in ([], ["statsu"], ["snooze", "a", "--minutes", "ten"], ["batch"],
                      ["batch", "start", "x"], ["replay"], ["acknowledge"],
                      ["out-of-service", "a", "--until", "tomorrow"]):
            done = run(*wrong)
            self.assertEqual((done.returncode, done.stdout), (EX_USAGE, ""), wrong)
            self.assertNotEqual(done.stderr, "")
        for asked in (["--help"], ["snooze", "--help"], ["--version"]):
            done = run(*asked)
            self.assertEqual((done.returncode, done.stderr), (0, ""), asked)

    def test_an_output_that_cannot_be_written_is_no_success(self):
        with open("/dev/full", "w", encoding="ascii") as full:
            for verb in (["humidity", "--dry", "37.5", "--wet", "29"], ["completion", "bash"]):
                done = subprocess.run([CLUTCHWARD, *verb], stdout=full, stderr=subprocess.PIPE,
                                      text=True, timeout=60)
                self.assertEqual((done.returncode, done.stderr),
                                 (EX_IOERR, "clutchward: the output cannot be written\n"))

    def test_humidity(self):
        done = run("humidity", "--dry", "37.5", "--wet", "29")
        self.assertEqual(done.returncode, 0)
        self.assertEqual(len(done.stdout.splitlines()), 5)
        figures = json.loads(run("humidity", "--dry", "99.5", "--humidity", "55", "--fahrenheit",
                                 "--json").stdout)
        self.assertEqual((figures["relative_humidity"], figures["unit"]), (55, "F"))
        self.assertEqual(run("humidity", "--dry", "37.5").returncode, EX_DATAERR)

    def test_profiles(self):
        with tempfile.TemporaryDirectory() as folder:
            config = f"{folder}/clutchward.yaml"
            with open(config, "w", encoding="utf-8") as out:
                out.write("site: Saltmere\nbroker: { url: mqtt://127.0.0.1, base: clutchward/saltmere }\n"
                          "patterns: [ { topic: \"farm/{cabinet}/t\", quantity: temperature } ]\n"
                          "profiles: { own-hen: { name: Our hen, days: 21, stages: [ { name: setting, "
                          "from_day: 0, target: 37.6, turn_every: 45min } ] } }\n")
            where = ["--config", config, "--profiles", PROFILES]
            listed = run("profile", "list", *where)
            self.assertEqual((listed.returncode, listed.stderr), (0, ""))
            self.assertIn("own-hen", listed.stdout)
            self.assertIn("turkey", listed.stdout)
            shown = run("profile", "show", "own-hen", *where)
            self.assertEqual(shown.stdout, "Our hen (own-hen), 21 days\n"
                                           "  from day 0      setting  37.6 °C  turned every 45min\n")
            turkey = json.loads(run("profile", "show", "turkey", "--json", *where).stdout)
            self.assertGreater(len(turkey["stages"]), 1)
            self.assertEqual(turkey["mass_loss"], {"by_day": 28.0, "from": 11.0, "to": 13.0})
            with_sources = run("profile", "show", "goose", *where).stdout
            self.assertIn("  candling  day 10 24\n", with_sources)
            self.assertIn("cooled 20min at 10:00", with_sources)
            self.assertIn("Where its figures come from:\n  days: 30\n      30 days: reposted", with_sources)
            unknown = run("profile", "show", "turky", *where)
            self.assertEqual((unknown.returncode, unknown.stderr),
                             (EX_DATAERR, 'clutchward: no profile "turky"; did you mean "turkey"?\n'))
            with open(config, "a", encoding="utf-8") as out:
                out.write("sitte: x\n")
            self.assertEqual(run("profile", "list", *where).returncode, EX_CONFIG)


if __name__ == "__main__":
    sys.exit(unittest.main(verbosity=1))
