"""Every row of README's table of requests, against the whole daemon over the network."""

import contextlib
import http.client
import json
import os
import re

from harness import LIMIT, ROOT, SiteTest, free_port, main


def rows():
    """(what, method, path, example) of the tables below "What the page does, as requests"."""
    with open(os.path.join(ROOT, "README.md"), encoding="utf-8") as file:
        part = file.read().split("### What the page does, as requests")[1].split("\n## ")[0]
        part = part.split("\n### ")[0]
    found = re.findall(r"^\| (.*?) \| `(GET|POST) (\S+)` \|(?: `(.*)`)? \|$", part, re.MULTILINE)
    lines = [line for line in part.splitlines() if line.startswith("|")]
    heads = 2 * sum(line.startswith("|---") for line in lines)
    assert len(found) == len(lines) - heads, "a row of a table cannot be read"
    return found


class ApiTest(SiteTest):
    def setUp(self):
        super().setUp()
        self.port = free_port()
        self.settings["page"] = {"listen": f"127.0.0.1:{self.port}", "trust_loopback": True}
        self.settings["contacts"]["joss"] = [{"email": "joss@saltmere.example"}]
        self.settings["escalation"].append({"after": "1h", "notify": ["joss"]})

    def ask(self, method, path, body=None):
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=LIMIT)
        with contextlib.closing(connection):
            connection.request(method, path, body)
            answer = connection.getresponse()
            # A stream of events has no end: its first line says that it has begun.
            text = answer.readline() if path == "/events" else answer.read()
            return answer.status, answer.getheader("Content-Type"), text.decode()

    def prepare(self, deed):
        if deed == "reset":
            self.reading(37.5)
            self.state("latched")
        if deed == "batch_move":
            self.reading(37.5, cabinet="setter-b")

    def test_every_row(self):
        self.start()
        self.reading(37.5)
        self.reading(37.5, cabinet="setter-b")
        self.reading(39.9)
        self.event("raised")
        done = []
        for what, method, path, example in rows():
            with self.subTest(what):
                deed = json.loads(example)["do"] if example else ""
                self.prepare(deed)
                status, kind, text = self.ask(method, path, example or None)
                self.assertEqual(status, 200, text)
                if method == "POST":
                    self.assertTrue(json.loads(text)["ok"], text)
                    done.append(deed)
                elif path.startswith("/api/"):
                    self.assertEqual(kind, "application/json")
                    json.loads(text)
        # The table is whole: every word that a command can have, but for none.
        with open(os.path.join(ROOT, "daemon/engine/command.h"), encoding="utf-8") as file:
            known = set(re.findall(r'"([a-z_]+)"', file.read().split("kDeedNames = {")[1]
                                   .split("};")[0]))
        self.assertEqual(set(done), known)

    def test_what_was_done_is_seen_by_everyone(self):
        self.start()
        self.reading(39.9)
        self.event("raised")
        example = next(each for *_, each in rows() if '"acknowledge"' in each)
        status, _, _ = self.ask("POST", "/api/command", example)
        self.assertEqual(status, 200)
        self.event("acknowledged")
        self.state("acknowledged")


if __name__ == "__main__":
    main()
