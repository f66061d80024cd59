"""Runs send_one and reads its reports."""

import json
import os
import subprocess


def send(channels, **rest):
    """Carries one message over the channels; a list of reports in the order of the channels."""
    argument = json.dumps({"channels": channels, **rest})
    run = subprocess.run([os.environ["SEND_ONE"], argument], capture_output=True, text=True,
                         timeout=200, check=True)
    reports = [json.loads(line) for line in run.stdout.splitlines()]
    assert run.stderr == "", run.stderr
    # The first message has the given id, each further one ends in its number.
    return sorted(reports, key=lambda report: (len(report["id"]), report["id"]))
