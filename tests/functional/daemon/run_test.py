"""tools/run with a keeper's own configuration: from any folder, in any of YAML's shapes, with the
files that it names beside it, and a broker where it names none."""

import json
import os
import re
import signal
import subprocess
import tempfile
import unittest

from harness import LIMIT, ROOT, SECRET, main, wait_for

BUILD = os.environ["CLUTCHWARD_BUILD"]
REST = {"site": "Saltmere",
        "patterns": [{"topic": "farm/{cabinet}/{probe}/temperature", "quantity": "temperature"}],
        "contacts": {"mara": [{"webhook": "http://127.0.0.1:9/", "secret_file": "hook.secret"}]},
        "escalation": [{"after": "0s", "notify": ["mara"]}]}
SHAPES = {
    "json, no url": json.dumps({"broker": {"base": "own/base"}, **REST}),
    "json, no broker": json.dumps(REST),
    "a quoted key": '"broker":\n  # ours\n  "base": own/base\n' + json.dumps(REST)[1:-1].replace(
        '"patterns"', "\n'patterns'").replace('"site": "Saltmere",', 'site: Saltmere').replace(
        ', "contacts"', "\ncontacts").replace(', "escalation"', "\nescalation"),
    "an empty key": 'broker:\nsite: Saltmere\n' + "\n".join(
        f"{key}: {json.dumps(value)}" for key, value in REST.items() if key != "site"),
}


class RunTest(unittest.TestCase):
    def test_a_broker_of_our_own_where_none_is_named(self):
        for name, text in SHAPES.items():
            with self.subTest(name), tempfile.TemporaryDirectory() as folder:
                self.play(folder, text)

    def play(self, folder, text):
        with open(os.path.join(folder, "own.yaml"), "w", encoding="utf-8") as file:
            file.write(text)
        with open(os.open(os.path.join(folder, "hook.secret"), os.O_CREAT | os.O_WRONLY, 0o600),
                  "w", encoding="ascii") as file:
            file.write(SECRET + "\n")
        log = os.path.join(folder, "log")
        with open(log, "w", encoding="utf-8") as out:
            run = subprocess.Popen(
                [os.path.join(ROOT, "tools/run"), "--config", "own.yaml", "--state", "state",
                 "--built", BUILD, "--no-install"], cwd=folder, stdout=out, stderr=out)
        self.addCleanup(lambda: run.poll() is None and run.kill())

        def said():
            with open(log, encoding="utf-8") as lines:
                said = lines.read()
            self.assertIsNone(run.poll(), said)
            return re.search(r"connected to the broker", said)
        wait_for("the daemon to reach the broker", said)
        self.assertTrue(os.path.exists(os.path.join(folder, "state", "control.sock")))
        run.send_signal(signal.SIGINT)
        run.wait(LIMIT)


if __name__ == "__main__":
    main()
