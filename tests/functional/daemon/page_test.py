"""What the network sees of the daemon: to read, and nothing else."""

import contextlib
import http.client
import json
import socket

from harness import LIMIT, SiteTest, free_port, main, wait_for


class PageTest(SiteTest):
    def setUp(self):
        super().setUp()
        self.port = free_port()
        self.settings["page"] = {"listen": f"127.0.0.1:{self.port}"}
        self.start()
        self.reading(37.5)
        self.reading(39.9)
        self.event("raised")

    def ask(self, path, method="GET", body=None, **headers):
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=LIMIT)
        with contextlib.closing(connection):
            connection.request(method, path, body, headers)
            answer = connection.getresponse()
            return answer.status, answer.getheader("Content-Type"), answer.read().decode()

    def test_the_page_says_what_is_wrong(self):
        status, kind, text = self.ask("/")
        self.assertEqual((status, kind), (200, "text/html; charset=utf-8"))
        for part in ("Setter A", "39.9", "39.5"):
            self.assertIn(part, text)

    def test_the_pictures_are_those_of_the_broker(self):
        status, kind, text = self.ask("/api/cabinets")
        self.assertEqual((status, kind), (200, "application/json"))
        cabinet, = json.loads(text)
        wait_for("the same picture from the broker",
                 lambda: self.phone.picture("setter-a") == json.loads(self.ask(
                     "/api/cabinets/setter-a")[2]))
        self.assertEqual(cabinet["cabinet"], "setter-a")
        self.assertEqual(self.ask("/api/cabinets/setter-q")[0], 404)

    def test_metrics_are_open_metrics(self):
        status, kind, text = self.ask("/metrics")
        self.assertEqual(status, 200)
        self.assertTrue(kind.startswith("application/openmetrics-text; version=1.0.0"), kind)
        self.assertTrue(text.endswith("# EOF\n"))
        samples = [line for line in text.splitlines() if not line.startswith("#")]
        self.assertTrue(any("setter-a" in line and line.endswith(" 39.9") for line in samples), text)

    def test_no_command_is_taken_from_the_network(self):
        body = json.dumps({"do": "acknowledge", "by": "mara", "cabinet": "setter-a"})
        status, _, text = self.ask("/api/command", "POST", body)
        self.assertEqual(status, 403)
        self.assertIn("keeper's command", text)
        self.assertEqual(self.ask("/api/watch")[0], 404)
        self.assertEqual(self.ask("/", "DELETE")[0], 405)
        self.assertEqual(self.ask("/", Host="evil.example")[0], 421)
        self.state("unacknowledged")
        # By the daemon's own socket the same words are taken.
        self.assertEqual(self.daemon.ask("/api/command", "POST", body)[0], 200)
        self.state("acknowledged")

    def test_one_who_only_connects_holds_up_nobody(self):
        with contextlib.ExitStack() as held:
            for _ in range(20):
                idle = held.enter_context(socket.create_connection(("127.0.0.1", self.port)))
                idle.sendall(b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Slow: ")
            self.assertEqual(self.ask("/")[0], 200)
            self.done("acknowledge", cabinet="setter-a", alarm="high")


if __name__ == "__main__":
    main()
