"""A whole Saltmere on the loopback: the real daemon, broker, mail server and webhook receiver.

Everything lives in a folder of its own and on free ports. Tests wait for evidence (what was
published, what arrived) up to a deadline, never for time alone; the daemon's log is printed only
where a test fails. It replaces nothing and judges nothing: the tests do.
"""

import asyncio
import contextlib
import datetime
import email
import email.policy
import http.client
import json
import os
import pathlib
import re
import shutil
import signal
import socket
import ssl
import subprocess
import sys
import tempfile
import threading
import time
import unittest
import urllib.request

import paho.mqtt.client as mqtt
from aiosmtpd.controller import Controller
from paho.mqtt.packettypes import PacketTypes
from paho.mqtt.properties import Properties

sys.path.append(str(pathlib.Path(__file__).resolve().parents[2]))
from lines import LIMIT, read_line  # noqa: E402
from ports import free_port  # noqa: E402

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(os.path.dirname(HERE)))
DAEMON = os.environ.get("CLUTCHWARDD", os.path.join(ROOT, "build/dev/clutchwardd"))
KEEPER = os.environ.get("CLUTCHWARD", os.path.join(ROOT, "build/dev/tools/clutchward"))
BASE = "clutchward/saltmere"
SECRET = "whsec_AAECAwQFBgcICQoLDA0ODxAREhMUFRYXGBkaGxwdHh8="
TIME = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d+)?Z")


def wait_for(what, probe, limit=LIMIT):
    """What `probe` finds, once it finds something that is true."""
    end = time.monotonic() + limit
    while True:
        found = probe()
        if found:
            return found
        if time.monotonic() > end:
            raise AssertionError(f"waited {limit} s for {what}")
        time.sleep(0.02)


def hours_ago(hours):
    return time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(time.time() - hours * 3600))


def unix_of(text):
    """Seconds since 1970 of an RFC 3339 time."""
    return datetime.datetime.fromisoformat(text.replace("Z", "+00:00")).timestamp()


def alike(one, other):
    """Whether two pictures say the same. Their times are reckoned back from the present by the steady
    clock: while the wall clock is being set right, or the machine is busy between the two, the last
    digits of the same one differ."""
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(alike(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(alike, one, other))
    if all(isinstance(each, str) and TIME.fullmatch(each) for each in (one, other)):
        return abs(unix_of(one) - unix_of(other)) < 0.2
    return one == other


class Closed:
    """A port at which nobody listens, nor anybody else will until it is given free."""

    def __init__(self):
        self.socket, self.port = socket.socket(), free_port()
        self.socket.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        self.socket.bind(("127.0.0.1", self.port))

    def close(self):
        self.socket.close()


class Broker:
    """Mosquitto with a configuration of its own; `lines` are added to it."""

    def __init__(self, folder, lines=None, port=None):
        self.folder, self.port = folder, port or free_port()
        self.path = os.path.join(folder, "mosquitto.conf")
        self.log = os.path.join(folder, "mosquitto.log")
        with open(self.path, "w", encoding="utf-8") as file:
            file.write("\n".join(lines or [f"listener {self.port} 127.0.0.1",
                                           "allow_anonymous true"]) + "\n")
        self.process = None
        self.start()

    def start(self):
        program = shutil.which("mosquitto", path=os.environ["PATH"] + ":/usr/sbin")
        with open(self.log, "a", encoding="utf-8") as log:
            self.process = subprocess.Popen([program, "-c", self.path], stdout=log, stderr=log)

        def answers():
            if self.process.poll() is not None:
                with open(self.log, encoding="utf-8") as log:
                    raise AssertionError("the broker does not start: " + log.read())
            with contextlib.suppress(OSError), \
                    socket.create_connection(("127.0.0.1", self.port), timeout=5):
                return True
            return False
        wait_for("the broker to listen", answers)

    def kill(self):
        self.process.kill()
        self.process.wait()


class Phone:
    """An MQTT client of somebody else: publishes, and keeps all that it hears, in order."""

    def __init__(self, port, topics=("clutchward/#", "clients/#"), prepare=None, host="127.0.0.1"):
        self.heard, self.lock = [], threading.Lock()
        versioned = getattr(mqtt, "CallbackAPIVersion", None)
        first = (versioned.VERSION1,) if versioned else ()
        self.client = mqtt.Client(*first, client_id=f"phone-{os.getpid()}-{id(self)}",
                                  protocol=mqtt.MQTTv5)
        if prepare:
            prepare(self.client)
        self.topics, self.linked = topics, threading.Event()
        self.client.on_connect = self.on_connect
        self.client.on_subscribe = lambda *_: self.linked.set()
        self.client.on_disconnect = lambda *_: self.linked.clear()
        self.client.on_message = self.on_message
        self.client.reconnect_delay_set(1, 1)
        self.client.max_queued_messages_set(0)
        self.client.max_inflight_messages_set(100)
        self.client.connect(host, port, keepalive=30)
        self.client.loop_start()
        if not self.linked.wait(LIMIT):
            raise AssertionError("the phone does not get through to the broker")

    def on_connect(self, client, *_):
        client.subscribe([(topic, mqtt.SubscribeOptions(qos=1)) for topic in self.topics])

    def on_message(self, _client, _data, message):
        with self.lock:
            self.heard.append({
                "topic": message.topic, "payload": message.payload, "retain": bool(message.retain),
                "correlation": getattr(message.properties, "CorrelationData", None),
                "at": time.time()})

    def publish(self, topic, payload, retain=False, qos=1, response=None, correlation=None):
        properties = None
        if response:
            properties = Properties(PacketTypes.PUBLISH)
            properties.ResponseTopic = response
            properties.CorrelationData = correlation
        info = self.client.publish(topic, payload, qos=qos, retain=retain, properties=properties)
        info.wait_for_publish(LIMIT)

    def messages(self, topic, since=0):
        with self.lock:
            heard = self.heard[since:]
        return [each for each in heard if each["topic"] == topic]

    def mark(self):
        with self.lock:
            return len(self.heard)

    def last(self, topic):
        found = self.messages(topic)
        return found[-1]["payload"].decode() if found else None

    def events(self, since=0):
        return [json.loads(each["payload"]) for each in self.messages(f"{BASE}/events", since)]

    def picture(self, cabinet):
        text = self.last(f"{BASE}/cabinets/{cabinet}")
        return json.loads(text) if text else None

    def stop(self):
        self.client.loop_stop()
        with contextlib.suppress(Exception):
            self.client.disconnect()


class Mail:
    """Debian's SMTP server in this process. `mode` is what it does with a mail once its end has
    come: keep, refuse (a full mailbox) or silent (it never answers)."""

    def __init__(self, host="127.0.0.1"):
        self.host, self.tls = host, None
        self.port, self.mode, self.mails, self.controller = free_port(), "keep", [], None
        self.refused, self.silent = [], []  # Message-IDs, in order
        self.start()

    async def handle_DATA(self, _server, _session, envelope):
        mail = email.message_from_bytes(envelope.content, policy=email.policy.default)
        if self.mode == "refuse":
            self.refused.append(mail["Message-ID"])
            return "451 4.2.2 mailbox full, try again later"
        if self.mode == "silent":
            self.silent.append(mail["Message-ID"])
            await asyncio.sleep(3600)
        self.mails.append({"id": mail["Message-ID"], "subject": str(mail["Subject"]),
                           "to": envelope.rcpt_tos, "from": envelope.mail_from,
                           "text": mail.get_body().get_content(), "mail": mail,
                           "at": time.time()})
        return "250 2.0.0 kept"

    def with_tls(self, folder, address):
        """From now on STARTTLS is asked for: the file with the certificate to be trusted."""
        certificate, key = os.path.join(folder, "mail.pem"), os.path.join(folder, "mail.key")
        subprocess.run(["openssl", "req", "-x509", "-newkey", "ec", "-pkeyopt",
                        "ec_paramgen_curve:P-256", "-nodes", "-days", "2", "-subj", "/CN=mail",
                        "-addext", f"subjectAltName=IP:{address}", "-keyout", key, "-out",
                        certificate], check=True, capture_output=True, timeout=60)
        self.tls = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        self.tls.load_cert_chain(certificate, key)
        self.stop()
        self.start()
        return certificate

    def start(self):
        self.controller = Controller(self, hostname=self.host, port=self.port,
                                     ready_timeout=LIMIT, tls_context=self.tls,
                                     require_starttls=self.tls is not None)
        self.controller.start()

    def stop(self):
        if self.controller:
            with contextlib.suppress(Exception):
                self.controller.stop()
        self.controller = None


class Hook:
    """The receiver whose signature check is the Standard Webhooks library."""

    def __init__(self):
        script = os.path.join(os.path.dirname(HERE), "channel", "receiver.js")
        self.process = subprocess.Popen(["node", script], text=True, stdin=subprocess.PIPE,
                                        stdout=subprocess.PIPE)
        self.process.stdin.write(SECRET)
        self.process.stdin.close()
        self.port = json.loads(read_line(self.process))["port"]
        self.requests = []
        threading.Thread(target=self.read, daemon=True).start()

    def read(self):
        for line in self.process.stdout:
            request = json.loads(line)
            request["at"] = time.time()
            self.requests.append(request)

    def url(self, path="/200"):
        return f"http://127.0.0.1:{self.port}{path}"

    def caught_up(self):
        """Once all that was answered before has come through the receiver's output: it is written
        in order, and what the test itself posts last comes last."""
        path = f"/204/{time.monotonic_ns()}"
        mark = urllib.request.Request(self.url(path), b"{}", {"webhook-id": "mark"})
        urllib.request.urlopen(mark, timeout=LIMIT).close()
        wait_for("the receiver's output",
                 lambda: any(each["path"] == path for each in list(self.requests)))

    def data(self, path="/200"):
        """(webhook-id, data) of what came to `path`, in order."""
        return [(each["headers"]["webhook-id"], json.loads(each["body"])["data"])
                for each in list(self.requests) if each["path"] == path]

    def stop(self):
        self.process.kill()
        self.process.wait()
        self.process.stdout.close()


class Daemon:
    """clutchwardd with its configuration and state in the folder."""

    def __init__(self, folder, wrapper=(), environment=None):
        self.folder = folder
        self.config = os.path.join(folder, "clutchward.yaml")
        self.state = os.path.join(folder, "state")
        self.log_path = os.path.join(folder, "daemon.log")
        self.wrapper, self.environment = list(wrapper), environment or {}
        self.process = None

    def configure(self, settings):
        # JSON is YAML. Renamed once whole, as an editor does.
        with open(self.config + ".new", "w", encoding="utf-8") as file:
            file.write(settings if isinstance(settings, str) else json.dumps(settings, indent=1))
        os.rename(self.config + ".new", self.config)

    def start(self):
        environment = {key: value for key, value in os.environ.items()
                       if key not in ("NOTIFY_SOCKET", "JOURNAL_STREAM", "WATCHDOG_USEC")}
        environment.setdefault("CLUTCHWARD_PROFILES", os.path.join(ROOT, "config/profiles"))
        environment.update(self.environment)
        with open(self.log_path, "a", encoding="utf-8") as log:
            self.process = subprocess.Popen(
                [*self.wrapper, DAEMON, "--config", self.config, "--state", self.state],
                stdout=log, stderr=log, env=environment)

    def log(self):
        with contextlib.suppress(FileNotFoundError), \
                open(self.log_path, encoding="utf-8", errors="replace") as log:
            return log.read()
        return ""

    def alive(self):
        return self.process is not None and self.process.poll() is None

    def kill(self):
        self.process.kill()
        self.process.wait()

    def stop(self):
        """A clean stop: the exit code."""
        self.process.send_signal(signal.SIGTERM)
        return self.process.wait(timeout=LIMIT)

    def sleeps(self, seconds=2.0):
        """Whether it comes to use next to no processor over a while: a loop that spins uses all of one.
        A busy machine can only make the figure smaller, but what was begun before takes its time."""
        def used():
            with open(f"/proc/{self.process.pid}/stat", encoding="ascii") as file:
                fields = file.read().rsplit(")", 1)[1].split()
            return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")
        for _ in range(10):
            before = used()
            time.sleep(seconds)
            if used() - before < seconds / 10:
                return True
        return False

    def ask(self, path, method="GET", body=None):
        """(status, text) over the daemon's own socket."""
        connection = http.client.HTTPConnection("localhost", timeout=LIMIT)
        connection.sock = socket.socket(socket.AF_UNIX)
        connection.sock.settimeout(LIMIT)
        connection.sock.connect(os.path.join(self.state, "control.sock"))
        with contextlib.closing(connection):
            connection.request(method, path, body)
            answer = connection.getresponse()
            return answer.status, answer.read().decode()

    def watch(self):
        status, text = self.ask("/api/watch")
        assert status == 200, text
        return json.loads(text)


def settings_for(site):
    """Saltmere with short delays; tests change what they are about."""
    return {
        "site": "Saltmere",
        "timezone": "Europe/Dublin",
        "broker": {"url": f"mqtt://127.0.0.1:{site.broker.port}", "base": BASE},
        "patterns": [
            {"topic": "farm/{cabinet}/{probe}/temperature", "quantity": "temperature"},
            {"topic": "farm/{cabinet}/humidity", "quantity": "humidity"},
            {"topic": "farm/{cabinet}/turned", "quantity": "turn"},
        ],
        "cabinets": {"setter-a": {"name": "Setter A"}},
        "rules": {"broker": {"after": "2min"}},
        "profiles": {"bench-hen": {
            "name": "Domestic hen", "days": 21,
            "stages": [{"name": "setting", "from_day": 0, "target": 37.5, "turn_every": "45min"},
                       {"name": "lockdown", "from_day": 18, "target": 37.2, "turn_every": "off"}]}},
        "batches": [{"id": "hens-12", "profile": "bench-hen", "cabinet": "setter-a",
                     "set_at": site.set_at, "eggs": 48}],
        "contacts": {"mara": [
            {"webhook": site.hook.url(), "secret_file": site.secret_file},
            {"email": "mara@saltmere.example"}]},
        "smtp": {"url": f"smtp://127.0.0.1:{site.mail.port}", "from": "clutchward@saltmere.example"},
        "gather": "0s",
        "escalation": [{"after": "0s", "notify": ["mara"]}],
    }


class SiteTest(unittest.TestCase):
    """A test with a Saltmere of its own, ended with it."""

    maxDiff = None

    def setUp(self):
        self.folder = tempfile.mkdtemp(prefix="clutchward-")
        self.addCleanup(shutil.rmtree, self.folder, ignore_errors=True)
        self.set_at = hours_ago(72)
        self.secret_file = os.path.join(self.folder, "webhook.secret")
        with open(os.open(self.secret_file, os.O_CREAT | os.O_WRONLY, 0o600), "w",
                  encoding="ascii") as file:
            file.write(SECRET + "\n")
        self.broker = self.make_broker()
        self.addCleanup(lambda: self.broker.kill())
        self.mail = Mail()
        self.addCleanup(self.mail.stop)
        self.hook = Hook()
        self.addCleanup(self.hook.stop)
        self.daemon = Daemon(self.folder)
        self.addCleanup(self.end_daemon)
        self.settings = settings_for(self)
        self.phone = self.make_phone()
        self.addCleanup(lambda: self.phone.stop())
        self.ids = 0

    def make_broker(self):
        return Broker(self.folder)

    def make_phone(self):
        return Phone(self.broker.port)

    def end_daemon(self):
        if self.daemon.alive():
            self.daemon.kill()
        self.last_log = self.daemon.log()

    def run(self, result=None):
        before = len(result.failures) + len(result.errors)
        self.last_log = ""
        super().run(result)
        if len(result.failures) + len(result.errors) > before:
            print(f"--- the daemon's log in {self.id()}:\n{self.last_log[-12000:]}---",
                  file=sys.stderr)
        return result

    # --- deeds ---

    def start(self, settings=None):
        """Starts the daemon and waits until it listens."""
        if settings is not None or not os.path.exists(self.daemon.config):
            self.daemon.configure(settings or self.settings)
        mark = self.phone.mark()
        self.daemon.start()
        self.wait_online(mark)

    def wait_online(self, mark):
        def online():
            self.assertTrue(self.daemon.alive(), "the daemon has ended:\n" + self.daemon.log())
            return any(each["payload"] == b"online" and not each["retain"]
                       for each in self.phone.messages(f"{BASE}/status", mark))
        wait_for("the daemon to say that it is online", online)

    def restart(self, settings=None):
        """kill -9 and start: what a power cut does."""
        self.daemon.kill()
        self.start(settings)

    def reading(self, value, cabinet="setter-a", probe="top", **rest):
        self.phone.publish(f"farm/{cabinet}/{probe}/temperature", str(value), **rest)

    def command(self, do, **words):
        """As a phone does it, with the broker's own client: the reply."""
        self.ids += 1
        ident = words.pop("id", f"phone-{self.ids}")
        body = {"id": ident, "by": "mara", "do": do, **words}
        return self.send_command(json.dumps(body), ident)

    def send_command(self, text, ident):
        topic, mark = f"{BASE}/reply/{ident}", self.phone.mark()
        subprocess.run(["mosquitto_pub", "-p", str(self.broker.port), "-q", "1", "-V", "mqttv5",
                        "-t", f"{BASE}/command", "-m", text], check=True, timeout=LIMIT)
        reply = wait_for(f"the reply to {text}", lambda: self.phone.messages(topic, mark))
        return json.loads(reply[0]["payload"])

    def done(self, do, **words):
        reply = self.command(do, **words)
        self.assertTrue(reply["ok"], reply)
        return reply

    # --- evidence ---

    def event(self, word, alarm="high", since=0, cabinet="setter-a", limit=LIMIT):
        return wait_for(f"the event {word} of {alarm}", lambda: next(
            (each for each in self.phone.events(since)
             if (each["event"], each["alarm"], each["cabinet"]) == (word, alarm, cabinet)), None),
            limit)

    def words(self, alarm="high", since=0, cabinet="setter-a"):
        return [each["event"] for each in self.phone.events(since)
                if each["alarm"] == alarm and each["cabinet"] == cabinet]

    def alarm(self, name="high", cabinet="setter-a"):
        picture = self.phone.picture(cabinet)
        return next((each for each in picture["alarms"] if each["alarm"] == name), None) \
            if picture else None

    def state(self, wanted, name="high", cabinet="setter-a", limit=LIMIT):
        """The alarm in the retained picture, once it is shown in this state."""
        def shown():
            alarm = self.alarm(name, cabinet)
            return alarm if alarm and alarm["state"] == wanted else None
        return wait_for(f"the picture of {cabinet} to show {name} as {wanted}", shown, limit)

    def mailed(self, count, limit=LIMIT):
        wait_for(f"{count} mails", lambda: len(self.mail.mails) >= count, limit)
        return self.mail.mails

    def hooked(self, count, path="/200", limit=LIMIT):
        wait_for(f"{count} webhooks", lambda: len(self.hook.data(path)) >= count, limit)
        return self.hook.data(path)

    def webhook_of(self, word, alarm="high", cabinet=None, limit=LIMIT):
        """(id, data) of the first webhook that tells this event, of any cabinet where none is named."""
        return wait_for(f"the webhook that tells {word} of {alarm}", lambda: next(
            ((ident, data) for ident, data in self.hook.data()
             if any((each["event"], each["alarm"], cabinet or each["cabinet"]) ==
                    (word, alarm, each["cabinet"]) for each in data["events"])),
            None), limit)

    def mail_with(self, start, limit=LIMIT):
        return wait_for(f"a mail whose subject starts {start!r}", lambda: next(
            (each for each in list(self.mail.mails) if each["subject"].startswith(start)), None),
            limit)

    def settled(self):
        """Waits until nothing is owed to anybody and that is saved, so that what a restart adds can be
        told apart."""
        wait_for("the outbox to be empty", lambda: self.daemon.watch()["waiting_messages"] == 0)
        # The answer to any command waits for what was to be saved before it.
        self.assertFalse(self.command("acknowledge", cabinet="no-such")["ok"])

    def logged(self, text, limit=LIMIT):
        wait_for(f"{text!r} in the log", lambda: text in self.daemon.log(), limit)


def main():
    unittest.main(verbosity=2)
