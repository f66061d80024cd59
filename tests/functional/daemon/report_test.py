"""What the daemon writes of a batch into its history, as the report reads it."""

import json
import os
import subprocess
import urllib.error
import urllib.request

from harness import LIMIT, SiteTest, free_port, main, wait_for


class ReportTest(SiteTest):
    def test_a_batch_of_a_daemon_that_stopped_is_reported_with_its_schedule(self):
        self.start()
        self.reading(37.5)
        wait_for("the reading to be in the picture", lambda: (self.phone.picture("setter-a") or {}).get(
            "hottest") == 37.5)
        self.daemon.stop()
        done = subprocess.run(
            [os.environ["CLUTCHWARD"], "report", "hens-12", "--json", "--history",
             os.path.join(self.daemon.state, "history.db")],
            capture_output=True, check=False, timeout=60)
        self.assertEqual(done.returncode, 0, done.stderr)
        report = json.loads(done.stdout)
        self.assertEqual([(each["stage"], each["target"]) for each in report["stages"]],
                         [("setting", 37.5)])
        self.assertEqual([each["mean"] for each in report["temperature"]], [37.5])
        self.assertIn("cannot_be_told", report["hatch"])

    def get(self, path):
        with urllib.request.urlopen(f"http://127.0.0.1:{self.port}{path}", timeout=LIMIT) as answer:
            return answer.headers, answer.read()

    def keeper(self, *arguments):
        done = subprocess.run(
            [os.environ["CLUTCHWARD"], "report", *arguments, "--history",
             os.path.join(self.daemon.state, "history.db")],
            capture_output=True, check=False, timeout=60)
        self.assertEqual(done.returncode, 0, done.stderr)
        return done.stdout

    def test_the_pages_report_is_the_commands(self):
        self.port = free_port()
        self.settings["page"] = {"listen": f"127.0.0.1:{self.port}", "trust_loopback": True}
        self.start()
        self.reading(37.5)
        self.reading(39.9)
        self.event("raised")
        self.done("acknowledge", cabinet="setter-a")
        # Of a batch that runs, nothing of which is committed yet: what is known this minute.
        running = json.loads(self.get("/batches/hens-12/report.json")[1])
        self.assertEqual([each["alarm"] for each in running["alarms"] if each["answered_by"]],
                         ["high"])
        self.assertEqual(running["temperature"][-1]["max"], 39.9)
        self.assertIsNone(running["ended_at"])
        self.done("batch_end", batch="hens-12", outcome={"hatched": 40, "infertile": 8})
        before = {path: self.get("/batches/hens-12/report" + path)[1]
                  for path in ("", ".json", ".csv", ".csv?table=alarms")}
        compared = json.loads(self.get("/api/compare?batch=hens-12")[1])
        happened = json.loads(self.get("/api/events?batch=hens-12")[1])["events"]
        self.assertEqual([each["event"] for each in happened if each["alarm"] == "high"][-2:],
                         ["acknowledged", "raised"])
        self.daemon.stop()  # what waits is committed
        back = b'\n<nav><a href="/batches/hens-12">Back to the batch</a></nav>'
        self.assertEqual(before[""].replace(back, b"", 1), self.keeper("hens-12"))
        self.assertEqual(before[".json"], self.keeper("hens-12", "--json"))
        folder = os.path.join(self.folder, "csv")
        self.keeper("hens-12", "--csv", folder)
        for path, name in ((".csv", "batch.csv"), (".csv?table=alarms", "alarms.csv")):
            with open(os.path.join(folder, name), "rb") as file:
                self.assertEqual(before[path], file.read())
        self.assertEqual(compared, json.loads(self.keeper("--compare", "hens-12", "--json")))
        # And after a start, out of the file alone.
        self.start()
        headers, page = self.get("/batches/hens-12/report")
        self.assertEqual(page, before[""])
        self.assertIn("default-src 'none'; style-src 'sha256-", headers["Content-Security-Policy"])
        self.assertEqual(json.loads(self.get("/api/events?batch=hens-12")[1])["events"], happened)
        with self.assertRaises(urllib.error.HTTPError) as refused:
            self.get("/batches/hens-21/report")
        self.assertEqual(refused.exception.code, 404)
        self.assertIn(b'did you mean "hens-12"?', refused.exception.read())
        refused.exception.close()


if __name__ == "__main__":
    main()
