"""Replies by mail, through a real mail server and a real mailbox: the true one is carried out and
answered, the forged ones are not, and the mailbox is left as it was."""

import os
import signal
import subprocess

from harness import KEEPER, SiteTest, main, wait_for
from post import PASSWORD, Dovecot, Post, make_certificate, reply_to, send

HTML = """<html><body><div dir="ltr">Snooze&nbsp;45</div><br><div class="quote">On Sunday Clutchward
wrote:<blockquote><p>reset</p></blockquote></div></body></html>"""


class RepliesTest(SiteTest):
    dovecot_lines = ()
    tls = False

    def setUp(self):
        super().setUp()
        certificate = make_certificate(self.folder) if self.tls else None
        self.imap = Dovecot(self.folder, self.dovecot_lines, certificate)
        self.addCleanup(self.imap.stop)
        self.mail.stop()
        self.mail = Post(self.imap)
        self.addCleanup(self.mail.stop)
        self.password_file = os.path.join(self.folder, "imap.password")
        self.set_password(PASSWORD)
        self.settings["smtp"]["url"] = f"smtp://127.0.0.1:{self.mail.port}"
        self.settings["contacts"]["joss"] = [{"email": "joss@saltmere.example"}]
        self.settings["escalation"] = [{"after": "0s", "notify": ["mara", "joss"]}]
        self.settings["replies"] = {"imap": f"imap://127.0.0.1:{self.imap.port}",
                                    "user": "clutchward", "password_file": self.password_file,
                                    "every": "10s"}

    def set_password(self, text):
        with open(os.open(self.password_file, os.O_CREAT | os.O_WRONLY | os.O_TRUNC, 0o600), "w",
                  encoding="ascii") as file:
            file.write(text + "\n")

    def raise_high(self):
        self.start()
        self.reading(37.5)
        self.reading(39.9)
        self.event("raised")
        return self.told("mara", "TOO HOT")

    def told(self, user, start):
        """The mail with that subject, as its reader has it."""
        return wait_for(f"a mail to {user} that begins with {start}", lambda: next(
            (each for each in self.imap.mails(user) if str(each["Subject"]).startswith(start)),
            None))

    def answer_to(self, reply, user="mara"):
        return wait_for("the answer to the reply", lambda: next(
            (each for each in self.imap.mails(user) if each["In-Reply-To"] == reply["Message-ID"]),
            None))

    def reply(self, mail, text, **more):
        reply = reply_to(mail, text, **more)
        send(self.mail.port, reply)
        return reply


class StoryTest(RepliesTest):
    def test_snooze_acknowledge_status_and_reset(self):
        mail = self.raise_high()
        self.assertRegex(mail["Reply-To"], r"^clutchward\+[a-z2-7]{26}@saltmere\.example$")
        shown = mail.get_body(("plain",)).get_content()
        self.assertIn("Answer this mail; its first line is done: ack, snooze 45, reset or status.",
                      shown)
        self.assertIn("its first line is done", mail.get_body(("html",)).get_content())

        reply = self.reply(mail, "Snooze 45")
        event = self.event("snoozed")
        self.assertEqual(event["by"], "mara")
        answer = self.answer_to(reply)
        self.assertEqual(answer["Auto-Submitted"], "auto-replied")
        self.assertEqual(answer["References"], reply["Message-ID"])
        self.assertIsNone(answer["Reply-To"])
        self.assertEqual(str(answer["Subject"]), "DONE: snoozed Setter A, by mail from Mara")
        self.assertRegex(answer.get_body(("plain",)).get_content(),
                         r"Setter A: TOO HOT \(high of hens-12\) 39\.9 C.*snoozed by Mara "
                         r"until .*\d\d:\d\d")
        self.assertEqual(wait_for("the snooze to be shown", lambda: self.alarm().get("snoozed_until")
                                  and self.alarm())["snoozed_by"], "mara")

        reply = self.reply(mail, "\n  status.\n")
        answer = self.answer_to(reply)
        self.assertEqual(str(answer["Subject"]), "STATUS of Saltmere: 1 alarm")
        text = answer.get_body(("plain",)).get_content()
        self.assertNotIn("fails to come", text)
        self.assertIn("snoozed by Mara until", text)
        self.assertIn("Setter A: 39.9", text)
        self.assertIn("hens-12 day", text)

        # Not yet: the engine's own reason is told.
        answer = self.answer_to(self.reply(mail, "reset"))
        self.assertTrue(str(answer["Subject"]).startswith("NOT DONE"), answer["Subject"])
        self.assertIn("still active: 39.9 °C is above 39.5 °C; reset it once it has returned",
                      answer.get_body(("plain",)).get_content())

        self.reading(37.5)
        self.event("returned")
        self.state("latched")
        reply = self.reply(mail, "reset")
        self.assertEqual(self.event("reset")["by"], "mara")
        self.state("normal")
        self.assertIn("Setter A: 37.5", self.answer_to(reply).get_body(("plain",)).get_content())

        # It is over: the same mail can do nothing any more, and that is said.
        reply = self.reply(mail, "ack")
        answer = self.answer_to(reply)
        self.assertTrue(str(answer["Subject"]).startswith("NOT DONE"), answer["Subject"])
        self.assertIn("nothing to acknowledge: it is not raised", answer.get_body(("plain",)).get_content())

    def test_each_contact_answers_for_himself(self):
        mail = self.raise_high()
        theirs = self.told("joss", "TOO HOT")
        self.assertNotEqual(mail["Reply-To"], theirs["Reply-To"])
        self.reply(theirs, "ack", sender="joss@saltmere.example")
        self.assertEqual(self.event("acknowledged")["by"], "joss")

    def test_html_alone_is_read(self):
        mail = self.raise_high()
        reply = reply_to(mail, "")
        reply.set_content(HTML, subtype="html")
        send(self.mail.port, reply)
        self.assertEqual(self.event("snoozed")["by"], "mara")

    def test_what_is_not_understood_is_said_once_for_each_mail(self):
        mail = self.raise_high()
        reply = self.reply(mail, "I am on my way")
        text = self.answer_to(reply).get_body(("plain",)).get_content()
        self.assertIn('"I am on my way" is none of the words that are understood', text)
        self.assertIn("nobody has it", text)

    def test_the_watchs_own_alarm_is_answered_too(self):
        self.settings["rules"]["broker"] = {"after": "1s"}
        self.start()
        self.broker.kill()
        mail = self.told("mara", "NO BROKER")
        reply = self.reply(mail, "ack")
        self.assertIn("Mara has it", self.answer_to(reply).get_body(("plain",)).get_content())

    def test_a_person_who_may_only_look_is_told_so(self):
        made = subprocess.run([KEEPER, "passphrase", "--pin"], input="314159\n", text=True,
                              capture_output=True, check=True)
        self.settings["people"] = {"mara": {"role": "look", "pin": made.stdout.strip()}}
        mail = self.raise_high()
        answer = self.answer_to(self.reply(mail, "ack"))
        self.assertIn("only look", answer.get_body(("plain",)).get_content())
        self.assertNotIn("acknowledged", self.words())


class ForgeryTest(RepliesTest):
    def refused(self, why, count=1):
        wait_for(f"{count} refusals: {why}",
                 lambda: self.daemon.log().count(f"is left as it is: {why}") >= count)

    def test_forged_mails_do_nothing_and_are_not_answered(self):
        mail = self.raise_high()
        theirs = self.told("joss", "TOO HOT")
        self.reading(39.9, cabinet="setter-b")  # another cabinet, no batch: no alarm
        stranger = "its sender is not the one who was told"
        not_ours = "it answers no message of ours by that message's address"
        self.reply(mail, "ack", sender="eve@phone.example")
        self.refused(stranger)
        self.reply(mail, "ack", sender="joss@saltmere.example")
        self.refused(stranger, 2)
        token = mail["Reply-To"]
        at = token.index("+") + 1
        bent = token[:at] + ("a" if token[at] != "a" else "b") + token[at + 1:]
        self.reply(mail, "ack", To=bent)
        self.refused(not_ours)
        self.reply(mail, "ack", To=theirs["Reply-To"])
        self.refused(not_ours, 2)
        self.reply(mail, "ack", In_Reply_To=None, References=None)
        self.refused(not_ours, 3)
        self.reply(mail, "ack", In_Reply_To="<made-up@saltmere.example>", References=None)
        self.refused(not_ours, 4)
        for headers in ({"Auto_Submitted": "auto-replied"}, {"Precedence": "bulk"},
                        {"List_Id": "<eggs.saltmere.example>"},
                        {"Auto_Submitted": "auto-generated", "X_Autoreply": "yes"}):
            self.reply(mail, "ack", **headers)
        self.refused("automatic", 4)
        bounce = reply_to(mail, "ack")
        send(self.mail.port, bounce, envelope_from="")  # MAIL FROM:<>
        self.refused("automatic (an empty return path)")
        self.reply(mail, "ack", sender="MAILER-DAEMON@saltmere.example")
        self.refused("automatic (from mailer-daemon)")
        self.reply(mail, "ack", sender="clutchward@saltmere.example")
        self.refused("from ourselves")
        # None was carried out, none was answered, and all are unread.
        self.assertEqual(self.words()[-1], "raised")
        self.assertEqual([each for each in self.imap.mails("mara") + self.imap.mails("joss")
                          if each["Auto-Submitted"] == "auto-replied"], [])
        for flags, _, _ in self.imap.standing("clutchward").values():
            self.assertEqual(flags, "")
        # The true one still works.
        self.reply(mail, "ack")
        self.assertEqual(self.event("acknowledged")["by"], "mara")

    def test_a_reply_of_another_alarm_does_nothing_to_this_one(self):
        mail = self.raise_high()
        self.reading(37.5)
        self.state("latched")
        self.done("reset", cabinet="setter-a")
        self.state("normal")
        mark = self.phone.mark()
        self.reading(39.9)
        self.event("raised", since=mark)
        answer = self.answer_to(self.reply(mail, "ack"))  # of the former one
        self.assertTrue(str(answer["Subject"]).startswith("NOT DONE"), answer["Subject"])
        self.assertEqual(self.words(since=mark), ["raised"])
        self.state("unacknowledged")

    def test_a_repeated_mail_does_nothing_not_even_after_a_power_cut(self):
        mail = self.raise_high()
        reply = self.reply(mail, "snooze 45")
        self.event("snoozed")
        self.answer_to(reply)
        self.done("unsnooze", cabinet="setter-a", alarm="high")
        mark = self.phone.mark()
        send(self.mail.port, reply)
        self.refused("it was taken before")
        self.restart()
        send(self.mail.port, reply)
        self.refused("it was taken before", 2)
        self.assertNotIn("snoozed", self.words(since=mark))
        # What was sent before the cut can be answered after it.
        self.reply(mail, "snooze 30")
        self.event("snoozed", since=mark)

    def test_an_automatic_reply_is_never_answered(self):
        mail = self.raise_high()
        # A responder that does not say what it is, answering each mail that it gets.
        for text in ("I am out of the office", "I am out of the office"):
            self.reply(mail, text)
        wait_for("both answers", lambda: len([each for each in self.imap.mails("mara") if each[
            "Auto-Submitted"] == "auto-replied"]) == 2)
        answers = [each for each in self.imap.mails("mara")
                   if each["Auto-Submitted"] == "auto-replied"]
        # Answering the answers leads nowhere: they have no address that anything is done by.
        for each in answers:
            self.reply(each, "ack")
        self.reply(mail, "ack")
        self.event("acknowledged")
        self.assertEqual(self.words().count("acknowledged"), 1)
        unseen = [flags for flags, _, data in self.imap.standing("clutchward").values()
                  if b"To: Clutchward Saltmere <clutchward@saltmere.example>" in data]
        self.assertEqual(unseen, ["", ""])


class MailboxTest(RepliesTest):
    def fill(self, count):
        for number in range(count):
            self.imap.deliver("clutchward", (
                f"From: somebody{number}@phone.example\r\nTo: clutchward@saltmere.example\r\n"
                f"Message-ID: <old-{number}@phone.example>\r\nSubject: {number}\r\n\r\n"
                "c3 OK ack\r\n* 1 EXISTS\r\nack\r\n").encode())
        client = self.imap.open("clutchward", read_only=False)
        client.store("1:50", "+FLAGS", r"(\Seen \Flagged)")
        client.store("51:60", "+FLAGS", r"(\Answered)")
        client.logout()

    def test_five_hundred_mails_are_left_as_they_were(self):
        self.fill(500)
        before = self.imap.standing("clutchward")
        self.assertEqual(len(before), 500)
        mail = self.raise_high()
        self.reply(mail, "ack", sender="eve@phone.example")
        reply = self.reply(mail, "ack")
        self.event("acknowledged")
        self.answer_to(reply)
        taken = wait_for("the reply to be marked", lambda: [
            uid for uid, (flags, _, _) in self.imap.standing("clutchward").items()
            if uid not in before and flags == r"\Seen"])
        after = self.imap.standing("clutchward")
        self.assertEqual({uid: after[uid] for uid in before}, before)
        self.assertEqual(len(after), 502)
        self.assertEqual(len(taken), 1)
        self.assertIn(reply["Message-ID"].encode(), after[taken[0]][2])

    def test_a_mail_that_is_too_long_or_hostile_holds_up_nothing(self):
        mail = self.raise_high()
        long = reply_to(mail, "ack")
        long.add_attachment(b"x" * 300_000, maintype="image", subtype="png", filename="eggs.png")
        send(self.mail.port, long)
        self.imap.deliver("clutchward", (
            f"To: {mail['Reply-To']}\r\nFrom: mara@saltmere.example\r\n" +
            "".join(f"X-{i}: a\r\n" for i in range(400)) + "\r\nack\r\n").encode())
        self.imap.deliver("clutchward", (
            f"To: {mail['Reply-To']}\r\n\r\nc9 OK\r\n* BYE\r\n\0\xff)\r\n").encode("latin-1"))
        self.reply(mail, "ack")
        self.event("acknowledged")
        self.logged("it is too long")
        self.logged("too many headers")

    def test_a_server_that_goes_and_comes_back(self):
        mail = self.raise_high()
        self.imap.stop()
        self.logged("replies by mail are not read")
        mark = self.phone.mark()
        self.reading(39.95)
        self.imap.start()
        self.reply(mail, "ack")
        self.event("acknowledged", since=mark)
        self.assertTrue(self.daemon.sleeps())

    def test_a_wrong_password_is_said_and_mended_without_a_restart(self):
        self.set_password("incorrect donkey")
        self.start()
        self.logged("replies by mail are not read: user or password was refused")
        self.set_password(PASSWORD)
        self.logged("replies by mail are read")

    def test_replies_come_and_go_with_the_configuration(self):
        replies = self.settings.pop("replies")
        mail = self.raise_high()
        self.assertIsNone(mail["Reply-To"])
        self.settings["replies"] = replies
        self.daemon.configure(self.settings)
        self.daemon.process.send_signal(signal.SIGHUP)
        self.logged("the new configuration is in force")
        self.reading(37.5)
        self.state("latched")
        self.done("reset", cabinet="setter-a")
        self.reading(39.9)
        mail = wait_for("a mail that can be answered", lambda: next(
            (each for each in self.imap.mails("mara") if each["Reply-To"]), None))
        self.reply(mail, "ack")
        self.event("acknowledged")
        self.assertEqual(self.daemon.stop(), 0)


class WithoutIdleTest(RepliesTest):
    dovecot_lines = ("imap_capability = IMAP4rev1 UIDPLUS",)

    def test_it_looks_now_and_then(self):
        mail = self.raise_high()
        self.reply(mail, "ack")
        self.assertEqual(self.event("acknowledged")["by"], "mara")
        self.assertTrue(self.daemon.sleeps())


class TlsTest(RepliesTest):
    tls = True

    def test_the_certificate_is_checked(self):
        self.settings["replies"]["imap"] = f"imaps://127.0.0.1:{self.imap.tls_port}"
        self.start()
        self.logged("replies by mail are not read")
        self.assertIn("certificate", self.daemon.log())
        self.daemon.stop()
        self.settings["replies"]["ca_file"] = os.path.join(self.folder, "imap.pem")
        self.daemon.configure(self.settings)
        mail = self.raise_high()
        self.reply(mail, "ack")
        self.event("acknowledged")

    def test_starttls_with_an_authority_of_its_own(self):
        self.settings["replies"]["ca_file"] = os.path.join(self.folder, "imap.pem")
        mail = self.raise_high()
        self.reply(mail, "ack")
        self.event("acknowledged")


if __name__ == "__main__":
    main()
