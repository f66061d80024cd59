"""Mailboxes of Saltmere: Debian's Dovecot over Maildirs, and an SMTP server that delivers into them.

People read and answer here as their mail programs do, with Python's own IMAP, SMTP and mail
libraries; the daemon meets the real servers. Judges nothing: the tests do.
"""

import contextlib
import email
import email.policy
import imaplib
import itertools
import mailbox
import os
import pwd
import shutil
import signal
import smtplib
import socket
import subprocess
import time
from email.message import EmailMessage
from email.utils import make_msgid, parseaddr

from harness import LIMIT, Mail, free_port, wait_for

PASSWORD = "correct-horse-battery"


def owner():
    """Dovecot serves no mail of root's."""
    return pwd.getpwuid(os.geteuid()) if os.geteuid() else pwd.getpwnam("nobody")


class Dovecot:
    """Debian's IMAP server with a configuration of its own, for any user with one password."""

    def __init__(self, folder, lines=(), certificate=None):
        self.folder = os.path.join(folder, "imap")
        self.port, self.tls_port = free_port(), free_port()
        self.owner, self.numbers = owner(), itertools.count()
        os.makedirs(self.folder)
        os.chmod(folder, 0o755)
        for user in ("clutchward", "mara", "joss"):
            self.maildir(user)
        self.path = os.path.join(self.folder, "dovecot.conf")
        group = "nogroup" if self.owner.pw_name == "nobody" else str(self.owner.pw_gid)
        tls = ([f"ssl_cert = <{certificate[0]}", f"ssl_key = <{certificate[1]}", "ssl = yes"]
               if certificate else ["ssl = no"])
        with open(self.path, "w", encoding="utf-8") as file:
            file.write("\n".join([
                f"base_dir = {self.folder}/run", f"log_path = {self.folder}/log",
                "protocols = imap", "listen = 127.0.0.1",
                f"default_login_user = {self.owner.pw_name}",
                f"default_internal_user = {self.owner.pw_name}",
                f"default_internal_group = {group}", "disable_plaintext_auth = no",
                "first_valid_uid = 1", f"mail_location = maildir:{self.folder}/%u",
                "passdb {\n driver = static\n args = password=" + PASSWORD + "\n}",
                "userdb {\n driver = static\n args = uid=" + str(self.owner.pw_uid) +
                f" gid={self.owner.pw_gid} home={self.folder}/%u\n}}",
                "service imap-login {\n chroot =\n inet_listener imap {\n port = "
                f"{self.port}\n }}\n inet_listener imaps {{\n port = "
                f"{self.tls_port if certificate else 0}\n }}\n}}",
                "service anvil {\n chroot =\n}", *tls, *lines]) + "\n")
        self.process = None
        self.start()

    def maildir(self, user):
        path = os.path.join(self.folder, user)
        mailbox.Maildir(path)
        if os.geteuid() == 0:
            for each in (path, *(os.path.join(path, part) for part in ("cur", "new", "tmp"))):
                shutil.chown(each, self.owner.pw_uid, self.owner.pw_gid)

    def deliver(self, user, data):
        """As a delivery agent does: whole, its owner's before anybody sees it, and not read yet."""
        name = f"{time.time():.6f}.{next(self.numbers)}.saltmere"
        made = os.path.join(self.folder, user, "tmp", name)
        with open(os.open(made, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "wb") as file:
            file.write(data.replace(b"\r\n", b"\n"))
        if os.geteuid() == 0:
            shutil.chown(made, self.owner.pw_uid, self.owner.pw_gid)
        os.rename(made, os.path.join(self.folder, user, "new", name))

    def start(self):
        program = shutil.which("dovecot", path=os.environ["PATH"] + ":/usr/sbin")
        assert program, "dovecot comes with Debian's package dovecot-imapd"
        self.process = subprocess.Popen([program, "-F", "-c", self.path],
                                        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)

        def answers():
            if self.process.poll() is not None:
                raise AssertionError("the IMAP server does not start: " + self.log())
            with contextlib.suppress(OSError), \
                    socket.create_connection(("127.0.0.1", self.port), timeout=5) as probe:
                return probe.recv(4) == b"* OK"
        wait_for("the IMAP server to listen", answers)

    def log(self):
        with contextlib.suppress(FileNotFoundError), \
                open(f"{self.folder}/log", encoding="utf-8") as log:
            return log.read()
        return ""

    def stop(self):
        if self.process and self.process.poll() is None:
            self.process.send_signal(signal.SIGTERM)
            self.process.wait(LIMIT)

    # --- as a person's mail program ---

    def open(self, user, read_only=True):
        client = imaplib.IMAP4("127.0.0.1", self.port, LIMIT)
        client.login(user, PASSWORD)
        client.select("INBOX", readonly=read_only)
        return client

    def mails(self, user):
        """Every mail as its reader has it, by Message-ID."""
        client = self.open(user)
        with contextlib.closing(client.socket()):
            _, numbers = client.search(None, "ALL")
            found = []
            for number in numbers[0].split():
                _, parts = client.fetch(number, "(BODY.PEEK[])")
                found.append(email.message_from_bytes(parts[0][1], policy=email.policy.default))
        return found

    def standing(self, user):
        """Everything about every mail that a program could have changed: flags, date, size, bytes."""
        client = self.open(user)
        with contextlib.closing(client.socket()):
            _, rows = client.fetch("1:*", "(UID FLAGS INTERNALDATE RFC822.SIZE BODY.PEEK[])")
        standing = {}
        for row in rows:
            if not isinstance(row, tuple):
                continue
            words, data = row[0].decode(), row[1]
            uid = int(words.split("UID ")[1].split()[0])
            flags = words.split("FLAGS (")[1].split(")")[0].replace("\\Recent", "").strip()
            date = words.split('INTERNALDATE "')[1].split('"')[0]
            standing[uid] = (flags, date, data)
        return standing


class Post(Mail):
    """The site's mail server: keeps what the daemon sends, as Mail does, and delivers everything."""

    def __init__(self, imap):
        self.imap = imap
        super().__init__()

    async def handle_DATA(self, server, session, envelope):
        answer = await super().handle_DATA(server, session, envelope)
        if answer.startswith("250"):
            for address in envelope.rcpt_tos:
                user = address.split("@")[0].split("+")[0]
                if user in ("clutchward", "mara", "joss"):
                    self.imap.deliver(user, b"Return-Path: <" + envelope.mail_from.strip("<>").encode() +
                                      b">\r\nDelivered-To: " + address.encode() + b"\r\n" +
                                      envelope.content)
        return answer


def reply_to(mail, text, sender="Mara <mara@saltmere.example>", **headers):
    """What a mail program makes of "reply": to Reply-To, in the thread, with the original quoted."""
    reply = EmailMessage()
    reply["From"] = sender
    reply["To"] = mail["Reply-To"] or mail["From"]
    reply["Subject"] = "Re: " + str(mail["Subject"])
    reply["Date"] = email.utils.formatdate(localtime=True)
    reply["Message-ID"] = make_msgid(domain="phone.example")
    reply["In-Reply-To"] = mail["Message-ID"]
    reply["References"] = " ".join(filter(None, (mail["References"], mail["Message-ID"])))
    for name, value in headers.items():
        del reply[name.replace("_", "-")]
        if value is not None:
            reply[name.replace("_", "-")] = value
    quoted = "".join(f"> {line}\n" for line in mail.get_body(("plain",)).get_content().splitlines())
    reply.set_content(f"{text}\n\nOn Sunday {parseaddr(mail['From'])[0]} wrote:\n{quoted}")
    return reply


def send(port, mail, envelope_from=None):
    with smtplib.SMTP("127.0.0.1", port, timeout=LIMIT) as client:
        client.send_message(mail, from_addr=envelope_from)


def make_certificate(folder):
    """A certificate for the loopback that vouches for itself: (certificate, key)."""
    certificate, key = os.path.join(folder, "imap.pem"), os.path.join(folder, "imap.key")
    subprocess.run(["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt",
                    "ec_paramgen_curve:P-256", "-nodes", "-days", "2", "-subj", "/CN=mail",
                    "-addext", "subjectAltName=IP:127.0.0.1", "-keyout", key, "-out", certificate],
                   check=True, capture_output=True)
    return certificate, key
