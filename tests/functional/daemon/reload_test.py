"""A new configuration by SIGHUP: taken whole, or refused whole with every fault in the log."""

import os
import signal

from harness import DAEMON, LIMIT, SiteTest, main, wait_for

import subprocess


class ReloadTest(SiteTest):
    def reload(self, settings):
        self.daemon.configure(settings)
        self.daemon.process.send_signal(signal.SIGHUP)

    def test_a_changed_limit_raises_at_once(self):
        self.start()
        self.reading(38.9)
        self.state("normal")
        self.settings["rules"]["high"] = {"offset": 1.0}
        self.reload(self.settings)
        event = self.event("raised")
        self.assertEqual((event["value"], event["limit"]), (38.9, 38.5))
        self.webhook_of("raised")
        self.settings["rules"]["high"] = {"offset": 2.0}
        self.reload(self.settings)
        self.assertEqual(self.event("returned")["limit"], 39.5)

    def test_a_rule_taken_out_returns_and_a_cabinet_is_named_anew(self):
        self.start()
        self.reading(39.9)
        self.event("raised")
        self.settings["rules"]["high"] = "off"
        self.settings["cabinets"]["setter-a"]["name"] = "Setter Alpha"
        self.reload(self.settings)
        self.event("returned")
        wait_for("the new name", lambda: self.phone.picture("setter-a")["name"] == "Setter Alpha")

    def test_a_batch_that_drops_out_of_the_configuration_is_told(self):
        self.start()
        self.reading(37.5)
        self.state("normal")
        batches = self.settings.pop("batches")
        self.reload(self.settings)
        mail = self.mail_with("THE NEW CONFIGURATION CHANGES BATCHES")
        self.assertIn("hens-12 in setter-a is no longer in the configuration: it has ended and is "
                      "not watched", " ".join(mail["text"].split()))
        self.settings["batches"] = batches
        self.reload(self.settings)
        self.logged("batch hens-12 of the configuration has ended and is not watched")

    def test_new_patterns_and_contacts_are_used(self):
        self.start()
        self.reading(37.5)
        self.settings["patterns"].append({"topic": "barn/{cabinet}/celsius",
                                          "quantity": "temperature"})
        self.settings["contacts"]["jonas"] = [{"webhook": self.hook.url("/204")}]
        self.settings["escalation"][0]["notify"].append("jonas")
        self.reload(self.settings)
        self.logged("the new configuration is in force")
        # The subscription is asked for and granted a moment later.
        def heard():
            self.phone.publish("barn/setter-d/celsius", "37.4")
            return self.phone.picture("setter-d")
        wait_for("a reading by the new pattern", heard)
        self.reading(39.9)
        self.hooked(1, "/204")
        self.hooked(1)

    def test_a_faulty_one_is_refused_and_the_old_one_kept(self):
        self.start()
        self.reading(38.9)
        self.state("normal")
        self.settings["rules"]["high"] = {"offset": 1.0}
        self.settings["rules"]["hihg"] = {"ofset": 1.0}
        self.reload(self.settings)
        self.logged("the old one is kept")
        with open(self.daemon.config, encoding="utf-8") as file:
            line = 1 + next(i for i, text in enumerate(file) if '"ofset"' in text)
        self.assertRegex(self.daemon.log(),
                         rf"error: {self.daemon.config}:{line}:\d+: .*ofset.*offset")
        self.reading(39.0)
        wait_for("the reading", lambda: self.phone.picture("setter-a")["temperature"] == 39.0)
        self.assertFalse(self.command("reset", cabinet="setter-a")["ok"])  # events come before replies
        self.assertEqual(self.words(), [])
        self.reload("site: [Saltmere\n")
        wait_for("the second refusal",
                 lambda: self.daemon.log().count("the old one is kept") == 2)
        os.remove(self.daemon.config)
        self.daemon.process.send_signal(signal.SIGHUP)
        wait_for("the third refusal",
                 lambda: self.daemon.log().count("the old one is kept") == 3)
        self.reading(39.7)
        self.event("raised")

    def test_check_warns_of_a_secret_that_signs_nothing(self):
        with open(self.secret_file, "w", encoding="ascii") as file:
            file.write("whsec_###\n")
        self.daemon.configure(self.settings)
        run = subprocess.run([DAEMON, "--check", "--config", self.daemon.config],
                             capture_output=True, text=True, timeout=60, check=True)
        self.assertRegex(run.stderr, rf"{self.daemon.config}: contacts\.mara\[0\]: .*"
                                     rf"{self.secret_file}.* \(a warning\)")
        self.assertNotIn("###", run.stderr)

    def test_check_says_every_fault_with_its_place(self):
        def check(settings):
            self.daemon.configure(settings)
            run = subprocess.run([DAEMON, "--check", "--config", self.daemon.config],
                                 capture_output=True, text=True, timeout=60)
            return run.returncode, run.stdout, run.stderr
        code, out, err = check(self.settings)
        self.assertEqual((code, err), (0, ""))
        self.assertTrue(out.startswith(f"{self.daemon.config}: no faults found\n\n"
                                       "What wakes whom, by the clocks of "), out)
        code, out, err = check("site: Saltmere\nsiet: Saltmere\nbroker:\n"
                               "  url: mqtt://127.0.0.1:1883\n  base: clutchward/+\n"
                               "patterns: []\n")
        self.assertEqual((code, out), (78, ""))
        lines = [line for line in err.splitlines() if not line.endswith("(a warning)")]
        self.assertRegex(lines[0], rf"^{self.daemon.config}:2:1: .*siet.*site")
        self.assertRegex(lines[1], rf"^{self.daemon.config}:5:9: .*broker\.base")
        self.assertRegex(lines[2], rf"^{self.daemon.config}:6:11: .*patterns")
        self.assertFalse(os.path.exists(self.daemon.state))

    def test_a_start_with_a_faulty_one_ends_with_78(self):
        self.daemon.configure("site: Saltmere\n")
        self.daemon.start()
        self.assertEqual(self.daemon.process.wait(timeout=LIMIT), 78)


if __name__ == "__main__":
    main()
