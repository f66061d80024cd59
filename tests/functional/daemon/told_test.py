"""Who was told, out of the daemon's own history: beside what the mail server and the webhook's
receiver got."""

import collections
import json
import os
import subprocess

from harness import SiteTest, main, wait_for


class ToldTest(SiteTest):
    def keeper(self, *arguments):
        done = subprocess.run(
            [os.environ["CLUTCHWARD"], *arguments, "--json", "--history",
             os.path.join(self.daemon.state, "history.db")],
            capture_output=True, check=False, timeout=60)
        self.assertEqual(done.returncode, 0, done.stderr)
        return done.stdout.decode()

    def told(self):
        return [json.loads(line) for line in self.keeper("history", "--told").splitlines()]

    def test_the_history_says_of_each_person_what_the_servers_got(self):
        self.settings["contacts"]["joss"] = [{"email": "joss@saltmere.example"}]
        self.settings["escalation"].append({"after": "5s", "notify": ["joss"]})
        self.start()
        self.reading(39.9)
        self.webhook_of("raised")
        wait_for("joss to be called", lambda: any(
            mail["to"] == ["joss@saltmere.example"] for mail in self.mail.mails))
        self.done("message_test", contact="joss")
        self.mail_with("TEST Saltmere")
        self.done("acknowledge", cabinet="setter-a", alarm="high")
        wait_for("the news", lambda: any(
            " has it since " in each["subject"] and each["to"] == ["joss@saltmere.example"]
            for each in self.mail.mails))
        self.settled()
        self.assertEqual(self.daemon.stop(), 0)

        rows = self.told()
        self.assertTrue(all(row["delivered_at"] >= row["at"] for row in rows), rows)
        by_mail = collections.Counter((row["contact"], row["first_line"]) for row in rows
                                      if row["way"] == "email")
        self.assertEqual(by_mail, collections.Counter(
            (mail["to"][0].split("@")[0], mail["subject"]) for mail in self.mail.mails))
        self.hook.caught_up()
        self.assertEqual([row["first_line"] for row in rows if row["way"] == "webhook"],
                         [data["first_line"] for _, data in self.hook.data()])
        sorts = collections.Counter((row["contact"], row["sort"]) for row in rows
                                    if row["way"] == "email")
        self.assertEqual((sorts["mara", "raised"], sorts["joss", "escalated"],
                          sorts["joss", "test"], sorts["joss", "news"]), (1, 1, 1, 1))

        shown = json.loads(self.keeper("quality"))
        people = {person["contact"]: person for person in shown["sides"][0]["people"]}
        self.assertEqual(people["mara"]["alarms"], 1)
        self.assertEqual(people["joss"]["alarms"], 1)
        self.assertEqual(people["joss"]["other_messages"], 1)
        self.assertEqual(people["joss"]["undelivered"], 0)
        # A message over two channels is one ring of the phone.
        loud = {row["first_line"] + row["at"] for row in rows
                if row["contact"] == "mara" and row["urgency"] != "quiet"}
        self.assertEqual(people["mara"]["messages"], len(loud))

    def test_a_message_that_gets_through_after_a_restart_is_one_row(self):
        self.settings["contacts"] = {"mara": [{"email": "mara@saltmere.example"}]}
        self.mail.mode = "refuse"
        self.start()
        self.reading(39.9)
        wait_for("a refusal", lambda: self.mail.refused)
        self.assertEqual(self.daemon.stop(), 0)
        rows = self.told()
        self.assertEqual([(row["sort"], row["delivered_at"]) for row in rows if row["alarm"] == "high"],
                         [("raised", None)])
        people = json.loads(self.keeper("quality"))["sides"][0]["people"]
        self.assertEqual([(person["undelivered"], person["alarms"]) for person in people], [(1, 0)])
        self.mail.mode = "keep"
        self.start()
        self.mail_with("TOO HOT")
        self.settled()
        self.assertEqual(self.daemon.stop(), 0)
        rows = [row for row in self.told() if (row["sort"], row["alarm"]) == ("raised", "high")]
        self.assertEqual(len(rows), 1)
        self.assertIsNotNone(rows[0]["delivered_at"])
        people = json.loads(self.keeper("quality"))["sides"][0]["people"]
        self.assertEqual([(person["undelivered"], person["alarms"]) for person in people], [(0, 1)])


if __name__ == "__main__":
    main()
