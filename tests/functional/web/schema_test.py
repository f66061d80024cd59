"""What every verb prints with --json, by the published schema: as it stands, and with no key that the
schema does not name. The validator is Debian's python3-jsonschema."""

import copy
import json
import os
import pathlib
import subprocess
import sys
import tempfile
import unittest
import urllib.request

import jsonschema

sys.path.append(str(pathlib.Path(__file__).resolve().parents[2]))
from lines import read_line  # noqa: E402
from ports import free_port  # noqa: E402

CLUTCHWARD = os.environ["CLUTCHWARD"]
PROFILES = os.environ["PROFILES"]
with open(os.environ["SCHEMA"], encoding="utf-8") as schema_file:
    SCHEMA = json.load(schema_file)


def strict(schema):
    """The same, and every object has the named keys only."""
    if isinstance(schema, dict):
        made = {key: strict(value) for key, value in schema.items()}
        if "properties" in schema:
            made.setdefault("additionalProperties", False)
        return made
    return [strict(each) for each in schema] if isinstance(schema, list) else copy.copy(schema)


NAMED = strict(SCHEMA)


class Schema(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.addClassCleanup(cls.folder.cleanup)
        cls.state = os.path.join(cls.folder.name, "state")
        os.mkdir(cls.state)
        cls.port = free_port()
        cls.server = subprocess.Popen(
            [os.environ["SITE_SERVER"], cls.state, f"127.0.0.1:{cls.port}"],
            stdout=subprocess.PIPE, text=True)
        # Ended whatever fails from here on: one that went on would hold the test's output open.
        cls.addClassCleanup(cls.end_server)
        said = read_line(cls.server)
        assert said == "ready\n", f"the server said {said!r}, and ended with {cls.server.poll()}"
        cls.config = os.path.join(cls.folder.name, "clutchward.yaml")
        with open(cls.config, "w", encoding="utf-8") as file:
            file.write("site: Saltmere\nbroker: { url: mqtt://127.0.0.1, base: clutchward/saltmere }\n"
                       "patterns: [ { topic: \"farm/{cabinet}/{probe}/temperature\", "
                       "quantity: temperature } ]\n"
                       "batches: [ { id: hens-12, profile: hen, cabinet: setter-a, "
                       "set_at: \"2026-03-01T08:00:00Z\", eggs: 48 } ]\n"
                       "contacts: { mara: [ { email: mara@saltmere.example } ] }\n"
                       "smtp: { url: \"smtp://127.0.0.1:2525\", "
                       "from: clutchward@saltmere.example }\n"
                       "escalation: [ { after: 0s, notify: [ mara ] } ]\n")
        cls.recording = os.path.join(cls.folder.name, "recording.jsonl")
        with open(cls.recording, "w", encoding="utf-8") as file:
            def write(minute, topic, payload):
                file.write(json.dumps({
                    "tst": f"2026-03-03T{8 + minute // 60:02}:{minute % 60:02}:00.000000Z",
                    "topic": topic, "payload": payload, "retain": 0}) + "\n")
            for minute in range(180):
                hot = 90 <= minute < 100
                write(minute, "farm/setter-a/top/temperature", "39.9" if hot else "37.5")
                if minute == 95:
                    write(minute, "clutchward/saltmere/command", json.dumps(
                        {"id": "a1", "by": "mara", "do": "acknowledge", "cabinet": "setter-a"}))
        cls.history = os.path.join(cls.folder.name, "history.db")

    @classmethod
    def end_server(cls):
        cls.server.kill()
        cls.server.wait()
        cls.server.stdout.close()

    def printed(self, *arguments, code=0, text=None):
        done = subprocess.run([CLUTCHWARD, *arguments], capture_output=True, text=True, timeout=120,
                              input=text, env={**os.environ, "CLUTCHWARD_STATE": self.state,
                                               "CLUTCHWARD_PROFILES": PROFILES, "USER": "joss"})
        self.assertEqual(done.returncode, code, done.stderr)
        # One document, on as many lines as it likes, or one a line.
        try:
            return [json.loads(done.stdout)]
        except json.JSONDecodeError:
            return [json.loads(line) for line in done.stdout.splitlines()]

    def fits(self, form, values):
        self.assertTrue(values)
        for whole in (SCHEMA, NAMED):
            schema = {**whole, "$ref": f"#/$defs/{form}"}
            for value in values:
                jsonschema.Draft202012Validator(schema).validate(value)

    def test_the_schema_is_one_and_refuses(self):
        jsonschema.Draft202012Validator.check_schema(SCHEMA)
        with self.assertRaises(jsonschema.ValidationError):
            self.fits("reply", [{"id": "a1"}])
        with self.assertRaises(jsonschema.ValidationError):
            self.fits("reply", [{"id": "a1", "ok": True, "odd": 1}])

    def test_status_and_watch(self):
        self.fits("status", self.printed("status", "--json"))
        watching = subprocess.Popen([CLUTCHWARD, "watch", "--json", "--state", self.state],
                                    stdout=subprocess.PIPE, text=True)
        self.fits("status", [json.loads(read_line(watching))])
        watching.terminate()
        self.assertEqual(watching.wait(60), 0)
        watching.stdout.close()

    def test_commands(self):
        self.fits("reply", self.printed("acknowledge", "setter-a", "--json"))
        self.fits("reply", self.printed("acknowledge", "setter-b", "--json", code=65))
        self.fits("reply", self.printed("message-test", "--json"))
        self.fits("reply", self.printed("batch", "move", "hens-setter-a", "setter-b", "--json",
                                        code=65))

    def test_rules(self):
        self.fits("rules", self.printed("rules", "setter-a", "--json"))

    def test_events_of_the_page(self):
        with urllib.request.urlopen(f"http://127.0.0.1:{self.port}/api/events") as answer:
            events = json.load(answer)
        self.assertTrue(events["events"])
        self.fits("events", [events])

    def test_batches(self):
        self.fits("records", self.printed("batch", "list", "--json"))
        self.fits("records", self.printed("batch", "list", "--all", "--json"))
        self.fits("record", self.printed("batch", "show", "geese-3", "--json"))
        self.fits("mass", self.printed("batch", "mass", "geese-3", "--json"))

    def test_what_needs_no_daemon(self):
        self.fits("humidity", self.printed("humidity", "--dry", "37.5", "--wet", "29", "--json"))
        self.fits("humidity", self.printed("humidity", "--dry", "99.5", "--humidity", "0",
                                           "--fahrenheit", "--json"))
        where = ["--config", self.config, "--profiles", PROFILES, "--json"]
        self.fits("profiles", self.printed("profile", "list", *where))
        for each in self.printed("profile", "list", *where)[0]:
            self.fits("profile", self.printed("profile", "show", each["profile"], *where))
        self.fits("hash", self.printed("passphrase", "--json", text="four words of goose down\n"))

    def test_replay_history_and_report(self):
        self.fits("event", self.printed("replay", "--config", self.config, "--json", "--history",
                                        self.history, self.recording))
        self.fits("minute", self.printed("history", "--history", self.history, "--json"))
        self.fits("event", self.printed("history", "--history", self.history, "--events", "--json"))
        self.fits("told", self.printed("history", "--history", self.history, "--told", "--json"))
        self.fits("report", self.printed("report", "hens-12", "--history", self.history, "--json"))
        self.fits("quality", self.printed("quality", "--history", self.history, "--json"))
        quality = self.printed("quality", "--recording", self.recording, "--config", self.config,
                               "--what-if", self.config, "--json")
        self.fits("quality", quality)
        self.assertEqual(len(quality[0]["sides"]), 2)
        self.assertTrue(quality[0]["occurrences"])
        self.fits("comparison", self.printed("report", "--compare", "hens-12", "hens-12",
                                             "--history", self.history, "--json"))


if __name__ == "__main__":
    unittest.main(verbosity=1)
