"""The email channel against real SMTP servers, its mails read by Python's own mail parser."""

import asyncio
import email
import email.policy
import html as html_module
import logging
import os
import pathlib
import socket
import ssl
import subprocess
import sys
import tempfile
import threading
import time
import unittest

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, AuthResult

from driver import send

sys.path.append(str(pathlib.Path(__file__).resolve().parents[2]))
from ports import free_port  # noqa: E402

PASSWORD = "correct horse battery"
AMPLE = {"connect": 30, "total": 60, "server_response": 30, "stalled": 30}
# Where it is waited for in vain; all that goes well meanwhile must still fit in.
SHORT = {"connect": 8, "total": 20, "server_response": 5, "stalled": 8}


class Handler:
    """Takes mails and answers as the test asks."""

    def __init__(self, rcpt=None, data="250 taken as 7"):
        self.rcpt, self.data = rcpt, data
        self.mails = []  # (sender, recipients, bytes, encrypted)
        self.logins = []

    async def handle_RCPT(self, server, session, envelope, address, options):
        if self.rcpt:
            return self.rcpt
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server, session, envelope):
        self.mails.append((envelope.mail_from, envelope.rcpt_tos, envelope.original_content,
                           session.ssl is not None))
        if self.data == "silent":
            await asyncio.sleep(600)
        if self.data == "close":
            server.transport.abort()
        return self.data

    def authenticate(self, server, session, envelope, mechanism, data):
        self.logins.append(mechanism)
        good = (data.login, data.password) == (b"clutchward", PASSWORD.encode())
        return AuthResult(success=good, handled=True) if good else AuthResult(
            success=False, handled=False, message="535 5.7.8 Authentication credentials invalid")


class Server(Controller):
    def __init__(self, handler, implicit_tls=None, hostname="127.0.0.1", **options):
        self.options = options
        super().__init__(handler, hostname=hostname, port=free_port(), ssl_context=implicit_tls,
                         ready_timeout=60)

    def factory(self):
        return SMTP(self.handler, hostname="catcher.example", **self.options)

    def _trigger_server(self):  # the built-in probe is not for a server that answers oddly
        socket.create_connection((self.hostname, self.port), 60).close()

    def url(self, scheme="smtp", host=None):
        return f"{scheme}://{host or self.hostname}:{self.port}"


def make_certificates(folder):
    """An authority of our own and a server certificate of it for the loopback."""
    def openssl(*arguments):
        subprocess.run(["openssl", *arguments], cwd=folder, check=True, capture_output=True, timeout=60)

    for name in ("ca", "other"):
        openssl("req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1",
                "-nodes", "-keyout", f"{name}.key", "-out", f"{name}.pem", "-days", "2",
                "-subj", f"/CN=Saltmere test authority {name}")
    openssl("req", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:prime256v1", "-nodes",
            "-keyout", "server.key", "-out", "server.csr", "-subj", "/CN=localhost")
    with open(os.path.join(folder, "names"), "w", encoding="ascii") as file:
        file.write("subjectAltName=DNS:localhost,IP:127.0.0.1\n")
    openssl("x509", "-req", "-in", "server.csr", "-CA", "ca.pem", "-CAkey", "ca.key",
            "-CAcreateserial", "-days", "2", "-extfile", "names", "-out", "server.pem")


def own_address():
    """An address of this machine that is not the loopback, or None. Sends nothing."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))
        except OSError:
            return None
        address = probe.getsockname()[0]
    return None if address.startswith("127.") or address == "0.0.0.0" else address


class MailTest(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder_ = tempfile.TemporaryDirectory()
        cls.folder = cls.folder_.name
        make_certificates(cls.folder)
        cls.tls = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        cls.tls.load_cert_chain(cls.file("server.pem"), cls.file("server.key"))
        for name, text in (("right", PASSWORD), ("wrong", "incorrect donkey")):
            with open(cls.file(name), "w", encoding="ascii") as file:
                file.write(text + "\n")

    @classmethod
    def tearDownClass(cls):
        cls.folder_.cleanup()

    @classmethod
    def file(cls, name):
        return os.path.join(cls.folder, name)

    def serve(self, handler=None, **options):
        server = Server(handler or Handler(), **options)
        server.start()
        self.addCleanup(server.stop)
        return server

    def mail(self, server, scheme="smtp", host=None, message=None, limits=AMPLE,
             **smtp):
        """One mail through the server: its report."""
        report, = send([{"email": "mara@saltmere.example"}], limits=limits, message=message or {},
                       smtp={"url": server.url(scheme, host), **smtp})
        return report

    def test_a_mail_arrives_whole(self):
        server = self.serve()
        report = self.mail(server)
        self.assertEqual((report["outcome"], report["detail"]), ("delivered", "250 taken as 7"))
        (sender, recipients, raw, encrypted), = server.handler.mails
        self.assertEqual((sender, recipients, encrypted),
                         ("clutchward@saltmere.example", ["mara@saltmere.example"], False))
        self.assertNotIn(b"\n", raw.replace(b"\r\n", b""))
        self.assertNotIn(b"\r", raw.replace(b"\r\n", b""))
        self.assertTrue(raw.isascii())

        mail = email.message_from_bytes(raw, policy=email.policy.default)
        self.assertEqual(mail.defects, [])
        self.assertEqual(mail["Subject"],
                         "TOO HOT Setter A 39.8 C rising (max 39.5) since 02:14. Open the door")
        self.assertEqual(mail["From"].addresses[0].addr_spec, "clutchward@saltmere.example")
        self.assertEqual(mail["From"].addresses[0].display_name, "Clutchward Saltmere")
        self.assertEqual(mail["Date"].datetime.isoformat(), "2026-03-01T02:14:05+00:00")
        self.assertEqual(mail["Message-ID"], "<20260301T021400-7_2emara-1@saltmere.example>")
        self.assertEqual(mail["In-Reply-To"], "<20260301T021400-7@saltmere.example>")
        self.assertEqual(mail["References"], "<20260301T021400-7@saltmere.example>")
        self.assertEqual(mail["Auto-Submitted"], "auto-generated")
        self.assertEqual(mail["Importance"], "high")
        self.assertEqual(mail.get_content_type(), "multipart/alternative")
        plain, html = mail.iter_parts()
        self.assertEqual((plain.get_content_type(), html.get_content_type()),
                         ("text/plain", "text/html"))
        for part in (plain, html):
            self.assertEqual(part.defects, [])
            self.assertEqual(part["Content-Transfer-Encoding"], "quoted-printable")
            for said in ("TOO HOT Setter A 39.8 C rising", "39.8 °C, rising", "39.5 °C"):
                self.assertIn(said, html_module.unescape(part.get_content()).replace("\xa0", " "))

    def test_lines_of_dots_and_words_outside_ascii_arrive(self):
        server = self.serve()
        report = self.mail(server, message={"first_line": "ZU HEISS Brüter Süd", "message":
                                            "ZU HEISS Brüter Süd\n.\n..\n.end\nMAIL FROM:<x>\nGrüße"})
        self.assertEqual(report["outcome"], "delivered")
        (_, _, raw, _), = server.handler.mails
        mail = email.message_from_bytes(raw, policy=email.policy.default)
        self.assertEqual(mail["Subject"], "ZU HEISS Brüter Süd")
        plain = mail.get_body(("plain",)).get_content().splitlines()
        self.assertEqual(plain[:7], ["ZU HEISS Brüter Süd", "", ".", "..", ".end", "MAIL FROM:<x>",
                                     "Grüße"])

    def test_each_recipient_gets_a_mail_of_their_own(self):
        server = self.serve()
        reports = send([{"email": "mara@saltmere.example"}, {"email": "jonas@saltmere.example"}],
                       smtp={"url": server.url()}, limits=AMPLE)
        self.assertEqual([report["outcome"] for report in reports], ["delivered", "delivered"])
        self.assertEqual(sorted(recipients for _, recipients, _, _ in server.handler.mails),
                         [["jonas@saltmere.example"], ["mara@saltmere.example"]])

    def test_starttls_with_the_named_authority(self):
        server = self.serve(tls_context=self.tls, require_starttls=True)
        for host in ("127.0.0.1", "localhost"):
            report = self.mail(server, host=host, ca_file=self.file("ca.pem"))
            self.assertEqual(report["outcome"], "delivered", report)
        self.assertEqual([encrypted for _, _, _, encrypted in server.handler.mails], [True, True])

    def test_tls_from_the_first_byte(self):
        server = self.serve(implicit_tls=self.tls)
        report = self.mail(server, scheme="smtps", ca_file=self.file("ca.pem"))
        self.assertEqual(report["outcome"], "delivered", report)
        self.assertEqual(len(server.handler.mails), 1)  # this server speaks nothing but TLS

    def test_a_certificate_of_somebody_else_gets_nothing(self):
        server = self.serve(tls_context=self.tls)
        report = self.mail(server, ca_file=self.file("other.pem"))
        self.assertEqual(report["outcome"], "try_again")
        self.assertIn("certificate", report["detail"])
        self.assertEqual(server.handler.mails, [])
        report = self.mail(server, ca_file=self.file("not.pem"))
        self.assertEqual((report["outcome"], report["detail"]),
                         ("failed", "smtp.ca_file cannot be read"))

    def test_no_password_and_no_mail_goes_out_in_clear(self):
        handler = Handler()
        server = self.serve(handler, hostname="0.0.0.0", authenticator=handler.authenticate,
                            auth_require_tls=False)
        hosts = [("127.0.0.1", {"ca_file": self.file("ca.pem")})]
        if own_address():
            hosts.append((own_address(), {}))
        for host, more in hosts:
            with self.subTest(host):
                report = self.mail(server, host=host, user="clutchward",
                                   password_file=self.file("right"), **more)
                self.assertEqual((report["outcome"], report["detail"]),
                                 ("try_again", "the server offers no STARTTLS, and mail is not sent "
                                  "in clear"))
        self.assertEqual((handler.mails, handler.logins), ([], []))

    def test_a_login(self):
        handler = Handler()
        server = self.serve(handler, tls_context=self.tls, authenticator=handler.authenticate,
                            auth_required=True)
        secure = {"ca_file": self.file("ca.pem"), "user": "clutchward"}
        report = self.mail(server, password_file=self.file("right"), **secure)
        self.assertEqual(report["outcome"], "delivered", report)
        self.assertTrue(handler.logins)
        report = self.mail(server, password_file=self.file("wrong"), **secure)
        self.assertEqual((report["outcome"], report["detail"]),
                         ("failed", "the password was refused: 535 5.7.8 Authentication credentials "
                          "invalid"))
        report = self.mail(server, password_file=self.file("nowhere"), **secure)
        self.assertEqual(report["outcome"], "failed")
        self.assertIn("No such file", report["detail"])
        self.assertEqual(len(handler.mails), 1)

    def test_answers_are_judged_by_their_code(self):
        for answers, outcome, detail in [
                ({"rcpt": "451 4.7.1 come back later"}, "try_again", "451 4.7.1 come back later"),
                ({"rcpt": "550 5.1.1 nobody of that name"}, "failed",
                 "550 5.1.1 nobody of that name"),
                ({"data": "452 4.3.1 no room"}, "try_again", "452 4.3.1 no room"),
                ({"data": "554 5.7.1 not wanted"}, "failed", "554 5.7.1 not wanted")]:
            with self.subTest(detail):
                report = self.mail(self.serve(Handler(**answers)))
                self.assertEqual((report["outcome"], report["detail"]), (outcome, detail))

    def test_silence_after_the_last_dot_holds_nobody_up(self):
        silent, good = self.serve(Handler(data="silent")), self.serve()
        waiting = threading.Thread(target=lambda: reports.append(self.mail(silent, limits=SHORT)))
        reports = []
        begun = time.monotonic()
        waiting.start()
        self.assertEqual(self.mail(good)["outcome"], "delivered")
        waiting.join()
        self.assertEqual(reports[0]["outcome"], "try_again")
        # 20 s and 5 s by the limits given; without them libcurl 7.88.1 waited 125 s.
        self.assertLess(time.monotonic() - begun, 112)
        # Nobody knows whether it was taken, so it is sent again under the same id.
        self.mail(silent, limits=SHORT)
        first, second = (email.message_from_bytes(raw)["Message-ID"]
                         for _, _, raw, _ in silent.handler.mails)
        self.assertEqual(first, second)

    def test_a_channel_that_hangs_delays_no_other_of_the_same_program(self):
        hole = socket.create_server(("127.0.0.1", 0))  # takes connections and never says a word
        self.addCleanup(hole.close)
        hung, refused = send(
            [{"email": "mara@saltmere.example"}, {"webhook": "http://127.0.0.1:9/"}],
            smtp={"url": f"smtp://127.0.0.1:{hole.getsockname()[1]}"}, limits=SHORT)
        self.assertEqual((hung["outcome"], refused["outcome"]), ("try_again", "try_again"))
        self.assertLess(refused["elapsed_ms"], hung["elapsed_ms"])

    def test_stopping_ends_a_mail_that_hangs(self):
        server = self.serve(Handler(data="silent"))
        begun = time.monotonic()
        report, = send([{"email": "mara@saltmere.example"}], smtp={"url": server.url()},
                       stop_after_ms=700, limits=dict.fromkeys(AMPLE, 120))
        self.assertEqual(report["outcome"], "try_again")
        self.assertLess(time.monotonic() - begun, 60)  # 120 s by the limits alone

    def test_a_connection_that_breaks_is_tried_again(self):
        self.assertEqual(self.mail(self.serve(Handler(data="close")))["outcome"], "try_again")
        report, = send([{"email": "mara@saltmere.example"}], smtp={"url": "smtp://127.0.0.1:9"})
        self.assertEqual(report["outcome"], "try_again")
        report, = send([{"email": "mara@saltmere.example"}], smtp={"url": "smtp://nowhere.invalid"})
        self.assertEqual(report["outcome"], "try_again")

    def test_settings_at_fault_are_said(self):
        server = self.serve()
        for address in ("mara", "mara@saltmere.example\r\nRCPT TO:<eve@elsewhere.example>"):
            report, = send([{"email": address}], smtp={"url": server.url()})
            self.assertEqual(report["outcome"], "failed")
            self.assertIn("is not a mail address: expected name@host", report["detail"])
        report, = send([{"email": "mara@saltmere.example"}])
        self.assertEqual(report["detail"], "smtp.url is not set: no mail can be sent")
        report, = send([{"email": "mara@saltmere.example"}], smtp={"url": "http://127.0.0.1/"})
        self.assertEqual((report["outcome"], report["detail"]),
                         ("failed", "smtp.url: expected smtp://host[:port] or smtps://host[:port]"))
        self.assertEqual(server.handler.mails, [])


if __name__ == "__main__":
    logging.disable()  # the servers' own tales of clients that hang up
    unittest.main()
