"""A broker that dies and comes back, and one that wants certificates and a password."""

import glob
import json
import os
import subprocess

from harness import BASE, Broker, Phone, SiteTest, free_port, main, wait_for


class BrokerTest(SiteTest):
    def test_a_lost_broker_is_told_and_found_again(self):
        self.settings["rules"] = {"broker": {"after": "2s"}, "silent": {"after": "12s"}}
        self.start()
        self.reading(37.5)
        wait_for("the reading", lambda: (self.phone.picture("setter-a") or {}).get("hottest"))
        self.broker.kill()
        _, data = self.webhook_of("raised", "broker")
        self.assertEqual(data["urgency"], "high")
        self.assertTrue(data["first_line"].startswith("NO BROKER Saltmere"), data["first_line"])
        self.mail_with("NO BROKER")

        # The keeper's own way in needs no broker.
        status, text = self.daemon.ask("/api/command", "POST", json.dumps(
            {"id": "local-1", "by": "mara", "do": "acknowledge", "alarm": "broker"}))
        self.assertEqual((status, json.loads(text)), (200, {"id": "local-1", "ok": True}))

        def silence():
            cabinet, = json.loads(self.daemon.ask("/api/cabinets")[1])
            silent = next(each for each in cabinet["alarms"] if each["alarm"] == "silent")
            return silent if cabinet["no_data"] and silent["state"] == "suppressed" else None
        silent = wait_for("the last reading to be older than the silence", silence)
        self.assertEqual(silent["suppressed_for"], ["broker_lost"])

        self.broker.start()
        self.webhook_of("returned", "broker")
        told = [event["alarm"] for _, data in self.hook.data() for event in data["events"]]
        self.assertNotIn("silent", told)
        # Listens again, and shows again what a broker without a memory has forgotten.
        wait_for("the phone to be back", self.phone.linked.is_set)
        late = self.make_phone()
        self.addCleanup(late.stop)
        wait_for("the status, retained", lambda: late.last(f"{BASE}/status") == "online")
        wait_for("the picture, retained", lambda: late.picture("setter-a"))
        mark = self.phone.mark()
        self.reading(39.9)
        self.event("raised", since=mark)
        self.done("acknowledge", cabinet="setter-a", alarm="high")

    def test_a_start_without_a_broker_waits_for_it(self):
        self.broker.kill()
        self.settings["rules"] = {"broker": {"after": "1s"}}
        self.daemon.configure(self.settings)
        self.daemon.start()
        self.webhook_of("raised", "broker")
        self.assertTrue(self.daemon.sleeps())
        self.broker.start()
        self.webhook_of("returned", "broker")
        wait_for("the phone to be back", self.phone.linked.is_set)
        # It says so once it has subscribed: what comes before is nobody's.
        wait_for("the status", lambda: self.phone.last(f"{BASE}/status") == "online")
        self.reading(39.9)
        self.event("raised")


def openssl(*words):
    subprocess.run(["openssl", *words], check=True, capture_output=True, timeout=60)


class SecureBrokerTest(SiteTest):
    """TLS with a certificate of the client's own, and a password from a file."""

    def make_broker(self):
        path = lambda name: os.path.join(self.folder, name)  # noqa: E731
        openssl("req", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes",
                "-days", "2", "-subj", "/CN=Saltmere test CA", "-keyout", path("ca.key"),
                "-out", path("ca.crt"))
        for name, extension in (("server", "subjectAltName=IP:127.0.0.1"),
                                ("clutchward", "extendedKeyUsage=clientAuth"),
                                ("phone", "extendedKeyUsage=clientAuth")):
            with open(path(name + ".ext"), "w", encoding="ascii") as file:
                file.write(extension + "\n")
            openssl("req", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes",
                    "-subj", f"/CN={name}", "-keyout", path(name + ".key"),
                    "-out", path(name + ".csr"))
            openssl("x509", "-req", "-days", "2", "-in", path(name + ".csr"), "-CA", path("ca.crt"),
                    "-CAkey", path("ca.key"), "-CAcreateserial", "-extfile", path(name + ".ext"),
                    "-out", path(name + ".crt"))
            os.chmod(path(name + ".key"), 0o600)
        with open(path("passwords"), "w", encoding="ascii") as file:
            file.write("clutchward:Feather-7\nphone:Feather-8\n")
        os.chmod(path("passwords"), 0o600)
        subprocess.run(["mosquitto_passwd", "-U", path("passwords")], check=True, timeout=60)
        with open(os.open(path("broker.password"), os.O_CREAT | os.O_WRONLY, 0o600), "w",
                  encoding="ascii") as file:
            file.write("Feather-7\n")
        port = free_port()
        return Broker(self.folder, [
            "user root" if os.geteuid() == 0 else "", f"listener {port} 127.0.0.1",
            f"cafile {path('ca.crt')}", f"certfile {path('server.crt')}",
            f"keyfile {path('server.key')}", "require_certificate true", "allow_anonymous false",
            f"password_file {path('passwords')}"], port)

    def make_phone(self):
        def prepare(client):
            client.tls_set(*(os.path.join(self.folder, name)
                             for name in ("ca.crt", "phone.crt", "phone.key")))
            client.username_pw_set("phone", "Feather-8")
        return Phone(self.broker.port, prepare=prepare)

    def secure(self, **rest):
        path = lambda name: os.path.join(self.folder, name)  # noqa: E731
        self.settings["broker"] = {
            "url": f"mqtts://127.0.0.1:{self.broker.port}", "base": BASE,
            "ca_file": path("ca.crt"), "certificate_file": path("clutchward.crt"),
            "key_file": path("clutchward.key"), "user": "clutchward",
            "password_file": path("broker.password"), **rest}

    def test_certificate_and_password_let_us_in(self):
        self.secure()
        self.start()
        self.reading(39.9)
        self.event("raised")
        self.state("unacknowledged")

    def test_a_wrong_password_is_told(self):
        with open(os.path.join(self.folder, "broker.password"), "w", encoding="ascii") as file:
            file.write("Feather-9\n")
        self.secure()
        self.daemon.configure(self.settings)
        self.daemon.start()
        self.mail_with("THE BROKER REFUSES US at Saltmere")
        self.assertFalse(self.daemon.watch()["broker"]["linked"])
        self.assertNotIn("Feather", self.daemon.log())

    def test_a_broker_that_cannot_prove_itself_is_not_trusted(self):
        self.secure()
        del self.settings["broker"]["ca_file"]  # Debian's own authorities do not know Saltmere's
        self.settings["rules"] = {"broker": {"after": "1s"}}
        self.daemon.configure(self.settings)
        self.daemon.start()
        self.mail_with("NO BROKER")
        self.assertFalse(self.daemon.watch()["broker"]["linked"])
        wait_for("the reason", lambda: "certificate" in self.daemon.watch()["broker"][
            "trouble"].lower())


class RefusalTest(SiteTest):
    """Mosquitto's dynamic security refuses subscriptions; its access list files never do."""

    def make_broker(self):
        plugin = glob.glob("/usr/lib/*/mosquitto_dynamic_security.so")
        if not plugin:
            self.skipTest("Mosquitto without its dynamic security plugin")
        self.rules = os.path.join(self.folder, "dynsec.json")
        self.allow()
        port = free_port()
        return Broker(self.folder, [f"listener {port} 127.0.0.1", "allow_anonymous true",
                                    "user root" if os.geteuid() == 0 else "",
                                    f"plugin {plugin[0]}",
                                    f"plugin_opt_config_file {self.rules}"], port)

    def allow(self, *denied):
        """Everything that a site needs, but these."""
        wanted = {"clutchward/#", "clients/#", "farm/+/+/temperature", "farm/+/humidity",
                  "farm/+/turned"}
        acls = [{"acltype": "subscribePattern", "topic": topic, "allow": True}
                for topic in sorted(wanted - set(denied))]
        acls += [{"acltype": way, "topic": "#", "allow": True}
                 for way in ("publishClientSend", "publishClientReceive")]
        with open(self.rules, "w", encoding="utf-8") as file:
            json.dump({"defaultACLAccess": {
                "publishClientSend": False, "publishClientReceive": True, "subscribe": False,
                "unsubscribe": True}, "clients": [],
                "groups": [{"groupname": "all", "roles": [{"rolename": "own"}]}],
                "anonymousGroup": "all", "roles": [{"rolename": "own", "acls": acls}]}, file)

    def rule(self, *denied):
        self.broker.kill()
        self.allow(*denied)
        self.broker.start()

    def refused(self):
        return sorted(fault["what"].split("(")[1].rstrip(")")
                      for fault in self.daemon.watch()["faults"]
                      if fault["what"].startswith("THE BROKER REFUSES A SUBSCRIPTION ("))

    def test_each_refused_subscription_is_named_and_over_when_it_is_granted(self):
        self.rule("farm/+/humidity", "farm/+/turned")
        self.daemon.configure(self.settings)
        self.daemon.start()
        self.mail_with("THE BROKER REFUSES A SUBSCRIPTION (farm/+/humidity)")
        self.mail_with("THE BROKER REFUSES A SUBSCRIPTION (farm/+/turned)")
        self.assertEqual(self.refused(), ["farm/+/humidity", "farm/+/turned"])
        # Refused again by the next connection: the same fault, told once.
        self.rule("farm/+/turned")
        self.mail_with("OVER: THE BROKER REFUSES A SUBSCRIPTION (farm/+/humidity)")
        self.assertEqual(self.refused(), ["farm/+/turned"])
        # And by the next start.
        self.daemon.kill()
        self.rule("farm/+/turned")
        links = self.daemon.log().count("connected to the broker")
        self.daemon.start()
        wait_for("the link", lambda: self.daemon.log().count("connected to the broker") > links)
        wait_for("the watch", lambda: self.refused() == ["farm/+/turned"])
        self.rule()
        self.mail_with("OVER: THE BROKER REFUSES A SUBSCRIPTION (farm/+/turned)")
        self.assertEqual(self.refused(), [])
        told = [mail["subject"] for mail in self.mail.mails
                if mail["subject"].startswith("THE BROKER REFUSES")]
        self.assertEqual(len(told), 2, told)


if __name__ == "__main__":
    main()
