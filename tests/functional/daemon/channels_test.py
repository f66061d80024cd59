"""One way to a person that hangs must not hold up another."""

import time

from harness import SiteTest, main, wait_for


# A try that hangs is given up after so long (channel/carrier.h), and made again.
GIVEN_UP = 20


class ChannelsTest(SiteTest):
    def one_at_a_time(self, tries, begun):
        """What waits behind the try that hangs is not tried beside it."""
        self.assertGreaterEqual(len(tries), 1)
        self.assertLessEqual(len(tries), 1 + (time.monotonic() - begun) // GIVEN_UP)

    def test_a_hanging_webhook_delays_no_mail(self):
        self.settings["contacts"]["mara"][0]["webhook"] = self.hook.url("/hang")
        self.start()
        begun = time.monotonic()
        self.reading(39.9)
        self.hooked(1, "/hang")
        self.mail_with("TOO HOT")
        self.done("acknowledge", cabinet="setter-a", alarm="high")
        self.reading(37.5)
        self.mail_with("BACK IN RANGE")
        self.assertTrue(self.daemon.sleeps())
        hook, mail = self.daemon.watch()["channels"]
        self.assertEqual((hook["kind"], hook["delivered"]), ("webhook", 0))
        self.hook.caught_up()
        self.one_at_a_time(self.hook.data("/hang"), begun)
        self.assertEqual(mail["kind"], "email")
        wait_for("the mails to be counted", lambda: self.daemon.watch()["channels"][1][
            "delivered"] == len(self.mail.mails))
        # Nor does it hold up the stop.
        self.assertEqual(self.daemon.stop(), 0)

    def test_a_mail_server_silent_after_the_dot_delays_no_webhook(self):
        self.mail.mode = "silent"
        self.start()
        begun = time.monotonic()
        self.reading(39.9)
        wait_for("the mail to be given over", lambda: self.mail.silent)
        self.webhook_of("raised")
        self.done("acknowledge", cabinet="setter-a", alarm="high")
        self.reading(37.5)
        self.webhook_of("returned")
        self.one_at_a_time(self.mail.silent, begun)
        self.assertEqual(self.daemon.stop(), 0)

    def test_a_mail_server_that_is_away_is_tried_again(self):
        self.mail.stop()
        self.start()
        self.reading(39.9)
        self.webhook_of("raised")
        wait_for("the failure", lambda: self.daemon.watch()["channels"][1]["failed"])
        self.mail.start()
        self.assertEqual(len(self.mailed(1)), 1)
        wait_for("the outbox to be empty", lambda: self.daemon.watch()["waiting_messages"] == 0)

    def test_a_contact_that_nothing_reaches_gives_way_to_the_next(self):
        self.settings["contacts"]["mara"] = [{"webhook": self.hook.url("/410")}]
        self.settings["contacts"]["jonas"] = [{"email": "jonas@saltmere.example"}]
        self.settings["escalation"].append({"after": "30min", "notify": ["jonas"]})
        self.start()
        self.reading(39.9)
        self.hooked(1, "/410")
        mail = self.mail_with("TOO HOT")
        self.assertEqual(mail["to"], ["jonas@saltmere.example"])
        self.assertIn("Mara", mail["text"])

    def test_message_test_reaches_every_channel(self):
        self.start()
        self.done("message_test", contact="mara")
        mail = self.mail_with("TEST Saltmere, asked for by Mara")
        self.assertIn("Nothing is wrong", mail["text"])
        self.assertEqual(self.hooked(1)[0][1]["first_line"], mail["subject"])
        reply = self.command("message_test", contact="mora")
        self.assertEqual((reply["ok"], reply["why"]),
                         (False, "no contact \"mora\"; did you mean \"mara\"?"))


if __name__ == "__main__":
    main()
