"""The webhook channel against a real HTTP receiver whose signature check is the library of the
Standard Webhooks specification."""

import json
import os
import pathlib
import queue
import socket
import subprocess
import sys
import tempfile
import threading
import unittest

from driver import send

sys.path.append(str(pathlib.Path(__file__).resolve().parents[2]))
from lines import LIMIT, read_line  # noqa: E402

HERE = os.path.dirname(os.path.abspath(__file__))
NEW = "whsec_AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8="
OLD = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"
STRANGER = "whsec_C2FVsBQIhrscChlQIMV1b5sSYspob7oD"


class Receiver:
    def __init__(self):
        self.process = subprocess.Popen(["node", os.path.join(HERE, "receiver.js")], text=True,
                                        stdin=subprocess.PIPE, stdout=subprocess.PIPE)
        self.process.stdin.write("\n".join([NEW, OLD, STRANGER]))
        self.process.stdin.close()
        self.port = json.loads(read_line(self.process))["port"]
        self.requests = queue.Queue()
        threading.Thread(target=self.read, daemon=True).start()

    def read(self):
        for line in self.process.stdout:
            self.requests.put(json.loads(line))

    def url(self, path):
        return f"http://127.0.0.1:{self.port}{path}"

    def request(self):
        return self.requests.get(timeout=LIMIT)

    def stop(self):
        self.process.kill()
        self.process.wait()
        self.process.stdout.close()


class WebhookTest(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.receiver = Receiver()
        cls.folder = tempfile.TemporaryDirectory()

    @classmethod
    def tearDownClass(cls):
        cls.receiver.stop()
        cls.folder.cleanup()

    def secret_file(self, text):
        path = os.path.join(self.folder.name, self.id())
        with open(path, "w", encoding="utf-8") as file:
            file.write(text)
        return path

    def post(self, path, limits=None, **channel):
        """One message to the receiver: (report, request as it arrived)."""
        report, = send([{"webhook": self.receiver.url(path), **channel}], limits=limits or {})
        return report, self.receiver.request()

    def test_a_signed_cloud_event_is_taken(self):
        report, request = self.post("/200", secret_file=self.secret_file(OLD + "\n"))
        self.assertEqual(report["outcome"], "delivered")
        self.assertEqual(report["detail"], "HTTP 200: thank you")
        self.assertEqual(request["method"], "POST")
        self.assertEqual(request["headers"]["webhook-id"], "20260301T021400-7.mara-1")
        self.assertEqual(request["headers"]["content-type"],
                         "application/cloudevents+json; charset=utf-8")
        self.assertEqual(request["checked"],
                         ["No matching signature found", True, "No matching signature found"])
        event = json.loads(request["body"])
        self.assertEqual(event["specversion"], "1.0")
        self.assertEqual(event["id"], request["headers"]["webhook-id"])
        self.assertEqual(event["data"]["urgency"], "high")
        self.assertEqual(event["data"]["message"].splitlines()[2], "Now: 39.8 °C, rising")
        self.assertEqual(event["data"]["events"][0]["value"], 39.8)

    def test_two_keys_serve_receivers_with_either(self):
        _, request = self.post("/204", secret_file=self.secret_file(f"{NEW}\n\n{OLD}\n"))
        self.assertEqual(request["checked"], [True, True, "No matching signature found"])

    def test_without_a_secret_nothing_is_signed(self):
        report, request = self.post("/204")
        self.assertEqual(report["outcome"], "delivered")
        self.assertNotIn("webhook-signature", request["headers"])

    def test_answers_are_judged_by_their_status(self):
        for path, outcome, detail, wait in [
                ("/204", "delivered", "HTTP 204", None),
                ("/400", "failed", "HTTP 400: bad \\x1B[31mword", None),
                ("/404", "failed", "HTTP 404", None),
                ("/410", "failed", "HTTP 410: gone", None),
                ("/500", "try_again", "HTTP 500: out of order", None),
                ("/429", "try_again", "HTTP 429", 7000),
                ("/503", "try_again", "HTTP 503", 90000)]:
            with self.subTest(path):
                report, _ = self.post(path)
                self.assertEqual((report["outcome"], report["detail"], report.get("retry_after_ms")),
                                 (outcome, detail, wait))

    def test_a_redirect_is_not_followed(self):
        for path in ("/302", "/307"):
            report, request = self.post(path)
            self.assertEqual((report["outcome"], report["detail"]), ("failed", "HTTP " + path[1:]))
            self.assertEqual(request["path"], path)
            self.assertTrue(self.receiver.requests.empty())

    def test_one_that_hangs_delays_no_other(self):
        hung, taken = send([{"webhook": self.receiver.url("/hang")},
                            {"webhook": self.receiver.url("/200")}],
                           limits={"total": 15, "stalled": 15})
        self.receiver.request()
        self.receiver.request()
        self.assertEqual(hung["outcome"], "try_again")
        self.assertEqual(taken["outcome"], "delivered")
        self.assertLess(taken["elapsed_ms"], hung["elapsed_ms"])
        self.assertLess(hung["elapsed_ms"], 60_000)

    def test_stopping_ends_a_try_that_hangs(self):
        report, = send([{"webhook": self.receiver.url("/hang")}], stop_after_ms=5000,
                       limits={"total": 120, "stalled": 120})
        self.receiver.request()
        self.assertEqual(report["outcome"], "try_again")
        self.assertLess(report["elapsed_ms"], 60_000)  # the time limits alone would be 120 s

    def test_a_connection_that_breaks_is_tried_again(self):
        for path in ("/close", "/half"):
            report, _ = self.post(path)
            self.assertEqual(report["outcome"], "try_again", path)

    def test_an_endless_reply_is_cut(self):
        report, _ = self.post("/endless")
        self.assertEqual(report["outcome"], "delivered")
        self.assertLess(len(report["detail"]), 250)

    def test_nobody_there_is_tried_again(self):
        for url in ("http://127.0.0.1:9/", "http://nowhere.invalid/",
                    self.receiver.url("/").replace("http:", "https:")):
            report, = send([{"webhook": url}])
            self.assertEqual(report["outcome"], "try_again", report)

    def test_what_does_not_speak_http_is_tried_again(self):
        with socket.create_server(("127.0.0.1", 0)) as server:
            def greet():
                one, _ = server.accept()
                with one:
                    one.recv(4096)
                    one.sendall(b"SSH-2.0-somebody_else\r\n")
            threading.Thread(target=greet, daemon=True).start()
            report, = send([{"webhook": f"http://127.0.0.1:{server.getsockname()[1]}/"}])
        self.assertEqual((report["outcome"], report["detail"]),
                         ("try_again", "what answers there does not speak HTTP"))

    def test_other_schemes_are_refused(self):
        for url in ("file:///etc/hostname", "ftp://127.0.0.1/", "gopher://127.0.0.1/", "not a url"):
            report, = send([{"webhook": url}])
            self.assertEqual((report["outcome"], report["detail"]),
                             ("failed", "webhook url: expected http://host or https://host"), url)

    def test_a_shape_of_ones_own(self):
        _, request = self.post(
            "/200", method="PUT",
            headers={"Content-Type": "application/json", "X-Title": "{{alarm}} at {{cabinet}}",
                     "X-Empty": "{{snooze}}"},
            body='{"text":"{{message}}","loud":"{{urgency}}"{{#snooze}},"never":1{{/snooze}}}',
            secret_file=self.secret_file(OLD))
        self.assertEqual(request["method"], "PUT")
        self.assertEqual(request["headers"]["x-title"], "high at setter-a")
        self.assertEqual(request["headers"]["x-empty"], "")
        self.assertEqual(request["headers"]["content-type"], "application/json")
        self.assertEqual(set(json.loads(request["body"])), {"text", "loud"})
        self.assertEqual(request["checked"][1], True)

    def test_a_plain_and_a_form_shape(self):
        _, request = self.post("/200", headers={"content-type": "text/plain"},
                               body="{{first_line}}")
        self.assertTrue(request["body"].startswith("TOO HOT Setter A 39.8 C"))
        _, request = self.post("/200", headers={"Content-Type": "application/x-www-form-urlencoded"},
                               body="p={{message}}")
        self.assertIn("%0A%0ANow%3A%2039.8%20%C2%B0C", request["body"])

    def test_a_get_sends_no_body(self):
        _, request = self.post("/200", method="GET", headers={"X-Alarm": "{{alarm}}"})
        self.assertEqual((request["method"], request["body"]), ("GET", ""))

    def test_a_header_cannot_be_broken_out_of(self):
        report, = send([{"webhook": self.receiver.url("/200"), "headers": {"X-Text": "{{message}}"}}])
        self.assertEqual(report["outcome"], "failed")
        self.assertEqual(report["detail"], "webhook header X-Text: a line break or control character"
                         " in its value")
        report, = send([{"webhook": self.receiver.url("/200"), "headers": {"X: a\r\nY": "b"}}])
        self.assertEqual(report["outcome"], "failed")
        self.assertTrue(self.receiver.requests.empty())

    def test_a_server_that_echoes_brings_no_secret_into_the_detail(self):
        report, _ = self.post("/echo/urltoken-0123456789?k=querytoken-0123456",
                              headers={"Authorization": "Bearer headertoken-012345"},
                              body='{"token":"bodytoken-0123456789"}',
                              secret_file=self.secret_file(OLD))
        self.assertEqual(report["outcome"], "failed")
        for secret in ("urltoken", "querytoken", "headertoken", "bodytoken", OLD[6:]):
            self.assertNotIn(secret, report["detail"])
        self.assertEqual(report["detail"], 'HTTP 400: /echo/...?k=... Bearer ... {\\"token\\":\\"...\\"}')

    def test_a_secret_file_at_fault_is_said_without_its_content(self):
        path = self.secret_file("not a secret!")
        report, = send([{"webhook": self.receiver.url("/200"), "secret_file": path}])
        self.assertEqual((report["outcome"], report["detail"]),
                         ("failed", f"secret file {path}: line 1 is not a signing secret: expected "
                          "whsec_ and base64"))
        report, = send([{"webhook": self.receiver.url("/200"), "secret_file": path + ".not"}])
        self.assertEqual(report["outcome"], "failed")
        self.assertTrue(self.receiver.requests.empty())


if __name__ == "__main__":
    unittest.main()
