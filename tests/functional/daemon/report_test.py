"""What the daemon writes of a batch into its history, as the report reads it."""

import json
import os
import subprocess

from harness import SiteTest, main, wait_for


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


if __name__ == "__main__":
    main()
