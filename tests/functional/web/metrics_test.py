"""The metrics as two collectors' own tools read them: promtool (text 0.0.4, with its lint) and the
reference parser of OpenMetrics in Python, which is the stricter one. Both are Debian's."""

import os
import pathlib
import shutil
import subprocess
import sys
import tempfile
import unittest
import urllib.request

from prometheus_client.openmetrics import parser as openmetrics
from prometheus_client import parser as older

sys.path.append(str(pathlib.Path(__file__).resolve().parents[2]))
from lines import read_line  # noqa: E402
from ports import free_port  # noqa: E402

COLLECTOR = ("application/openmetrics-text;version=1.0.0,application/openmetrics-text;version=0.0.1;"
             "q=0.75,text/plain;version=0.0.4;q=0.5,*/*;q=0.1")


class Metrics(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.port = free_port()
        cls.folder = tempfile.TemporaryDirectory()
        cls.addClassCleanup(cls.folder.cleanup)
        cls.server = subprocess.Popen(
            [os.environ["SITE_SERVER"], cls.folder.name, f"127.0.0.1:{cls.port}"],
            stdout=subprocess.PIPE, text=True)
        # Ended whatever fails from here on: one that went on would hold the test's output open.
        cls.addClassCleanup(cls.end_server)
        said = read_line(cls.server)
        assert said == "ready\n", f"the server said {said!r}, and ended with {cls.server.poll()}"

    @classmethod
    def end_server(cls):
        cls.server.kill()
        cls.server.wait()
        cls.server.stdout.close()

    def scrape(self, accept=None):
        request = urllib.request.Request(f"http://127.0.0.1:{self.port}/metrics",
                                         headers={"Accept": accept} if accept else {})
        with urllib.request.urlopen(request, timeout=60) as answer:
            self.assertEqual(answer.headers["Vary"], "Accept")
            return answer.headers["Content-Type"], answer.read().decode()

    def test_promtool_finds_nothing_to_say(self):
        kind, text = self.scrape("text/plain")
        self.assertEqual(kind, "text/plain; version=0.0.4; charset=utf-8")
        promtool = shutil.which("promtool")
        self.assertIsNotNone(promtool, "promtool comes with Debian's package prometheus")
        done = subprocess.run([promtool, "check", "metrics"], input=text, capture_output=True,
                              text=True, timeout=60)
        self.assertEqual((done.returncode, done.stdout, done.stderr), (0, "", ""))

    def test_promtool_would_say_so(self):
        done = subprocess.run(["promtool", "check", "metrics"], input="clutchward_eggs{ 1\n",
                              capture_output=True, text=True, timeout=60)
        self.assertNotEqual(done.returncode, 0)

    def test_the_strict_parser_reads_every_family(self):
        for accept in (None, "*/*", COLLECTOR):
            kind, text = self.scrape(accept)
            self.assertEqual(kind, "application/openmetrics-text; version=1.0.0; charset=utf-8")
            self.assertTrue(text.endswith("\n# EOF\n"))
            families = {each.name: each for each in openmetrics.text_string_to_metric_families(text)}
            self.assertEqual(families["clutchward_readings"].type, "counter")
            self.assertEqual(families["clutchward_build"].type, "info")
            self.assertEqual(families["clutchward_cabinet_humidity_ratio"].unit, "ratio")
            for family in families.values():
                self.assertTrue(family.documentation, family.name)

    def test_both_forms_say_the_same(self):
        def samples(families):
            return {(each.name, tuple(sorted(each.labels.items()))): each.value
                    for family in families for each in family.samples}
        new = samples(openmetrics.text_string_to_metric_families(self.scrape()[1]))
        old = samples(older.text_string_to_metric_families(self.scrape("text/plain")[1]))
        self.assertEqual(new, old)
        self.assertEqual(new["clutchward_cabinet_temperature_celsius", (("cabinet", "setter-a"),)],
                         39.8)


if __name__ == "__main__":
    unittest.main(verbosity=1)
