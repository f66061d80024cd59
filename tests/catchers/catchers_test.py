#!/usr/bin/python3
"""The catchers are judges in other tests, so they are tested themselves, over real sockets."""
import base64
import hashlib
import hmac
import http.client
import json
import pathlib
import signal
import smtplib
import subprocess
import sys
import tempfile
import time
import unittest

HERE = pathlib.Path(__file__).resolve().parent
sys.path.append(str(HERE.parent))
from lines import LIMIT, read_line  # noqa: E402

SECRET = "whsec_" + base64.b64encode(b"Saltmere, for tests only").decode()


class Catcher:
    def __init__(self, program, *arguments):
        self.folder = tempfile.TemporaryDirectory()
        self.path = pathlib.Path(self.folder.name)
        self.process = subprocess.Popen(
            [HERE / program, "--port", "0", "--folder", self.path, *arguments],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        self.port = int(read_line(self.process))

    def line(self):
        return read_line(self.process).rstrip("\n")

    def stop(self):
        self.process.send_signal(signal.SIGTERM)
        out, err = self.process.communicate(timeout=LIMIT)
        self.folder.cleanup()
        return self.process.returncode, out, err


class Mail(unittest.TestCase):
    def setUp(self):
        self.catcher = Catcher("mail-catcher", "--refuse", "1")

    def tearDown(self):
        self.assertEqual(self.catcher.stop(), (0, "", ""))

    def send(self, body):
        with smtplib.SMTP("127.0.0.1", self.catcher.port, timeout=LIMIT) as smtp:
            smtp.sendmail("clutchward@saltmere.example", ["mara@saltmere.example"], body)

    def test_refuses_then_keeps(self):
        body = "Subject: =?utf-8?q?TOO_HOT?=\r\n Setter A\r\n\r\n39.8\r\n"
        with self.assertRaises(smtplib.SMTPDataError) as caught:
            self.send(body)
        self.assertEqual(caught.exception.smtp_code, 451)
        self.assertEqual(self.catcher.line(), "refused a mail")
        self.send(body)
        self.assertEqual(self.catcher.line(), "mail 1 to mara@saltmere.example: TOO HOT Setter A")
        self.assertEqual((self.catcher.path / "0001.eml").read_bytes(), body.encode())


class Webhook(unittest.TestCase):
    def setUp(self):
        self.catcher = Catcher("webhook-catcher", "--secret", SECRET)

    def tearDown(self):
        self.assertEqual(self.catcher.stop(), (0, "", ""))

    def post(self, body, ident="msg_1", stamp=None, key=SECRET, **changed):
        stamp = str(int(time.time())) if stamp is None else stamp
        raw = base64.b64decode(key.removeprefix("whsec_"))
        mac = hmac.new(raw, f"{ident}.{stamp}.".encode() + body, hashlib.sha256).digest()
        headers = {"webhook-id": ident, "webhook-timestamp": stamp,
                   "webhook-signature": "v1," + base64.b64encode(mac).decode(),
                   "Content-Type": "application/cloudevents+json", **changed}
        link = http.client.HTTPConnection("127.0.0.1", self.catcher.port, timeout=LIMIT)
        link.request("POST", "/alert", body, headers)
        status = link.getresponse().status
        link.close()
        return status

    def test_keeps_what_is_signed(self):
        body = json.dumps({"data": {"first_line": "TOO HOT Setter A"}}).encode()
        self.assertEqual(self.post(body), 200)
        self.assertEqual(self.catcher.line(), "webhook 1: TOO HOT Setter A")
        self.assertEqual((self.catcher.path / "0001.json").read_bytes(), body)
        self.assertEqual(self.post(body), 200)
        self.assertEqual(self.catcher.line(), "webhook msg_1 came again")
        self.assertEqual(len(list(self.catcher.path.iterdir())), 1)

    def test_refuses_what_is_not(self):
        other = "whsec_" + base64.b64encode(b"another one").decode()
        for why, status, arguments in (
                ("the signature is wrong", 401, {"key": other}),
                ("webhook-timestamp is not of the last five minutes", 401,
                 {"stamp": str(int(time.time()) - 400)}),
                ("the signature is wrong", 401, {"webhook-signature": "v1,"})):
            self.assertEqual(self.post(b"{}", **arguments), status)
            self.assertEqual(self.catcher.line(), f"refused a webhook: {why}")
        self.assertEqual(self.post(b"no"), 400)
        self.assertEqual(self.catcher.line(), "refused a webhook: the body is no JSON")
        self.assertEqual(list(self.catcher.path.iterdir()), [])

    # Signed by openssl, not by this file: printf 'msg_1.1767225600.{}' | openssl dgst -sha256 -hmac
    def test_signature_agrees_with_openssl(self):
        stamp = str(int(time.time()))
        text = subprocess.run(["openssl", "dgst", "-sha256", "-binary", "-hmac",
                               "Saltmere, for tests only"],
                              input=f"msg_9.{stamp}.{{}}".encode(), capture_output=True,
                              check=True).stdout
        signature = "v1,AAAA v1," + base64.b64encode(text).decode()
        self.assertEqual(self.post(b"{}", ident="msg_9", stamp=stamp,
                                   **{"webhook-signature": signature}), 200)
        self.assertEqual(self.catcher.line(), "webhook 1: (no first_line)")


if __name__ == "__main__":
    unittest.main()
