"""What the network sees of the daemon: to read, and to command where the configuration says who
may."""

import contextlib
import http.client
import json
import os
import signal
import socket
import ssl
import subprocess
import urllib.request

from prometheus_client.openmetrics.parser import text_string_to_metric_families

from harness import KEEPER, LIMIT, SiteTest, alike, free_port, main, wait_for


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
                 lambda: alike(self.phone.picture("setter-a"), json.loads(self.ask(
                     "/api/cabinets/setter-a")[2])))
        self.assertEqual(cabinet["cabinet"], "setter-a")
        self.assertEqual(self.ask("/api/cabinets/setter-q")[0], 404)

    def test_metrics_are_open_metrics(self):
        status, kind, text = self.ask("/metrics")
        self.assertEqual(status, 200)
        self.assertTrue(kind.startswith("application/openmetrics-text; version=1.0.0"), kind)
        self.assertTrue(text.endswith("# EOF\n"))
        samples = [line for line in text.splitlines() if not line.startswith("#")]
        self.assertTrue(any("setter-a" in line and line.endswith(" 39.9") for line in samples), text)

    def test_metrics_pass_the_stricter_parser(self):
        # The reference parser of the format's own Python client, from Debian.
        families = {family.name: family for family in text_string_to_metric_families(
            self.ask("/metrics")[2])}
        sample, = families["clutchward_cabinet_temperature_celsius"].samples
        self.assertEqual((sample.labels["cabinet"], sample.value), ("setter-a", 39.9))

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


class TrustedTest(SiteTest):
    """Commands over TCP, where the configuration says who may give them."""

    def setUp(self):
        super().setUp()
        self.port = free_port()

    def post(self, words, **headers):
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=LIMIT)
        with contextlib.closing(connection):
            connection.request("POST", "/api/command", json.dumps(words), headers)
            answer = connection.getresponse()
            return answer.status, answer.read().decode()

    def test_loopback_is_trusted_where_the_configuration_says_so(self):
        self.settings["page"] = {"listen": f"127.0.0.1:{self.port}", "trust_loopback": True}
        self.start()
        self.reading(39.9)
        self.event("raised")
        words = {"id": "p1", "by": "mara", "do": "acknowledge", "cabinet": "setter-a"}
        self.assertEqual(self.post(words), (200, '{"id":"p1","ok":true}\n'))
        self.assertEqual(self.event("acknowledged")["by"], "mara")
        self.assertEqual(self.post({"do": "reset", "cabinet": "setter-a"})[0], 409)
        self.assertEqual(self.post(words, Origin="https://evil.example")[0], 403)

    def test_people_speak_for_themselves(self):
        made = subprocess.run([KEEPER, "passphrase"], input="four words of goose down\n", text=True,
                              capture_output=True, check=True)
        self.settings["page"] = {"listen": f"127.0.0.1:{self.port}"}
        self.settings["people"] = {"joss": {"role": "answer", "passphrase": made.stdout.strip()}}
        self.start()
        self.reading(39.9)
        self.event("raised")
        words = {"by": "mara", "do": "acknowledge", "cabinet": "setter-a"}
        bearer = "Bearer joss:four words of goose down"
        self.assertEqual(self.post(words)[0], 401)
        self.assertEqual(self.post(words, Authorization=bearer + "!")[0], 401)
        self.assertEqual(self.post(words, Authorization=bearer)[0], 200)
        self.assertEqual(self.event("acknowledged")["by"], "joss")
        self.assertEqual(self.post({"do": "batch_end", "batch": "hens-12"},
                                   Authorization=bearer)[0], 403)

    def test_tls_of_our_own(self):
        folder = os.path.dirname(self.daemon.config)
        certificate, key = os.path.join(folder, "eggs.pem"), os.path.join(folder, "eggs.key")
        subprocess.run(["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt",
                        "ec_paramgen_curve:P-256", "-nodes", "-days", "2", "-subj", "/CN=eggs",
                        "-addext", "subjectAltName=IP:127.0.0.1", "-keyout", key, "-out",
                        certificate], check=True, capture_output=True)
        os.chmod(key, 0o600)
        self.settings["page"] = {"listen": f"127.0.0.1:{self.port}",
                                 "tls": {"certificate_file": certificate, "key_file": key}}
        self.start()
        trust = ssl.create_default_context(cafile=certificate)
        with urllib.request.urlopen(f"https://127.0.0.1:{self.port}/", context=trust,
                                    timeout=LIMIT) as answer:
            self.assertIn("Saltmere", answer.read().decode())
        old = ssl.create_default_context(cafile=certificate)
        old.minimum_version = ssl.TLSVersion.MINIMUM_SUPPORTED
        old.maximum_version = ssl.TLSVersion.TLSv1_1
        with self.assertRaises(OSError):
            urllib.request.urlopen(f"https://127.0.0.1:{self.port}/", context=old, timeout=LIMIT)
        # A reload between the renewal of the certificate and that of its key.
        with open(key, encoding="ascii") as file:
            fits = file.read()
        subprocess.run(["openssl", "genpkey", "-algorithm", "EC", "-pkeyopt",
                        "ec_paramgen_curve:P-256", "-out", key], check=True, capture_output=True)
        self.daemon.process.send_signal(signal.SIGHUP)
        self.logged("THE PAGE IS NOT SERVED AS CONFIGURED")
        with urllib.request.urlopen(f"https://127.0.0.1:{self.port}/", context=trust,
                                    timeout=LIMIT) as answer:
            self.assertEqual(answer.status, 200)
        self.mail_with("THE PAGE IS NOT SERVED AS CONFIGURED")
        with open(key, "w", encoding="ascii") as file:
            file.write(fits)
        self.daemon.process.send_signal(signal.SIGHUP)
        self.mail_with("OVER: THE PAGE IS NOT SERVED AS CONFIGURED")
        with urllib.request.urlopen(f"https://127.0.0.1:{self.port}/", context=trust,
                                    timeout=LIMIT) as answer:
            self.assertEqual(answer.status, 200)


if __name__ == "__main__":
    main()
