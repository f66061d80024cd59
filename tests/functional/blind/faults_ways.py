"""Faults of the ways in and out: sensors, broker, line, mail server, webhook."""

import time

from case import PATIENCE, SLACK, Case, command, wait_for

KEEP_ALIVE = 10.0  # of our MQTT connection (ingest/paho_link.cpp)
FAILS = 8.0        # watch.channel_fails of these tests
ANSWER = 40.0      # a mail server's time to answer, and as long for libcurl's farewell (channel/carrier.h)


class ReadingsStop(Case):
    fault = "no readings come: sensors, radio or their mains"
    word = "NO READINGS"
    shown = "given no sign of life: no readings arrive"
    outside_told = True
    base = (5.0, "`after` of `silent`")

    def change(self, settings):
        settings["rules"]["silent"]["after"] = "5s"

    def produce(self):
        self.feeding.clear()
        time.sleep(0.2)
        self.at_fault = time.monotonic()


class BrokerKilled(Case):
    fault = "the broker dies"
    word = "NO BROKER"
    shown = "The connection to the broker is lost"
    base = (5.0, "`after` of `broker`")

    def produce(self):
        self.broker.kill()
        self.at_fault = time.monotonic()

    def watch(self):
        super().watch()
        self.broker.start()
        wait_for("the broker's return to be told", lambda: self.first("BROKER BACK"), 60)


class BrokerLineCut(Case):
    fault = "the line to the broker is dead"
    word = "NO BROKER"
    shown = "The connection to the broker is lost"
    base = (5.0 + KEEP_ALIVE, "keep-alive of 10 s + `after` of `broker`")
    told_bound = SLACK + KEEP_ALIVE  # a ping, and the wait for its answer
    cuts = True

    def produce(self):
        self.inner.cut()
        self.notes.append("cut by " + self.inner.kind)
        self.at_fault = time.monotonic()


class OutsideLineCut(Case):
    fault = "the line to the outside is dead"
    shown = "do not get out"
    outside_told = True
    base = (PATIENCE, "the watcher's patience")
    alarm_base = (0.0, "once it is back:")
    # What was tried in vain is tried again after 1 s, 2 s, 4 s ... 5 min.
    alarm_bound = 45.0 + SLACK
    cuts = True

    def produce(self):
        self.outer.cut()
        self.notes.append("cut by " + self.outer.kind)
        self.at_fault = time.monotonic()

    def watch(self):
        self.wait_for_fault()
        time.sleep(max(0, self.at_due + 1 - time.monotonic()))
        self.look()
        assert self.first("TOO HOT") is None, "told over a dead line"
        self.outer.mend()
        self.mended = time.monotonic()
        self.wait_for_alarm()

    def alarm_from(self):
        return self.mended

    def blind(self):
        return self.watcher.rang_at - self.at_fault


class MailServerDead(Case):
    fault = "the mail server is dead (Mara has a webhook as well)"
    word = "A CHANNEL FAILS (mara by email)"
    shown = "Messages to mara by email do not get out"
    base = (FAILS, "from the first message that fails: `channel_fails`")

    def produce(self):
        self.mail.stop()
        self.at_fault = self.at_due  # nothing is tried before

    def watch(self):
        super().watch()
        self.mail.start()
        wait_for("the end of it to be told", lambda: self.first("OVER: " + self.word), 150)


class MailServerDeadAlone(Case):
    fault = "the mail server is dead (Mara has mail only)"
    word = "A CHANNEL FAILS: the first to be told cannot be reached"
    shown = "Messages to mara by email do not get out"
    base = (FAILS, "from the first message that fails: `channel_fails`")
    alarm_base = (20.0, "the next step of the escalation")

    def change(self, settings):
        del settings["contacts"]["mara"][0]
        settings["escalation"][1]["after"] = "20s"

    def produce(self):
        self.mail.stop()
        self.at_fault = self.at_due


class PlannedTestFails(Case):
    fault = "the mail server is dead and nothing is to be told: the planned test finds it"
    word = "A CHANNEL FAILS (mara by email)"
    shown = "Messages to mara by email do not get out"
    base = (FAILS, "from the planned test: `channel_fails`")

    def change(self, settings):
        # At the next full minute that is not too near: the daemon is to be up by then.
        at = time.time() + 60
        settings["timezone"] = "UTC"
        settings["watch"]["test"] = {"on": "daily", "notify": ["mara"],
                                     "at": time.strftime("%H:%M", time.gmtime(at + 60 - at % 60))}

    def play(self):
        self.mail.stop()
        self.at_fault = wait_for("the planned test",
                                 lambda: self.first("TEST Saltmere, as every day at "), 240)
        self.wait_for_fault()
        self.look()
        self.arm()
        self.wait_for_alarm()
        assert len([each for each in self.all_told() if each[3].startswith("TEST")]) == 1, "told twice"
        self.record()


class MailServerSilent(Case):
    fault = "the mail server takes a mail and never answers"
    word = "A CHANNEL FAILS (mara by email)"
    shown = "Messages to mara by email do not get out"
    base = (ANSWER + FAILS, "from the first message: 40 s for an answer + `channel_fails`")

    def produce(self):
        self.mail.mode = "silent"
        self.at_fault = self.at_due


class WebhookDead(Case):
    fault = "the webhook's service refuses (Mara has mail as well)"
    word = "A CHANNEL FAILS (mara by webhook)"
    shown = "Messages to mara by webhook do not get out"
    base = (FAILS, "from the first message that fails: `channel_fails`")

    def produce(self):
        self.receiver.refused.add(f"/{self.case}/mara")
        self.at_fault = self.at_due


class SecondChannelDead(Case):
    fault = "a second channel fails beside the first"
    strikes_first = False  # the first channel's fault takes its time to be told
    word = "A CHANNEL FAILS (jonas by webhook)"
    shown = "Messages to jonas by webhook do not get out"
    base = (FAILS, "from the first message that fails: `channel_fails`")

    def produce(self):
        self.mail.stop()
        status, reply = command(self, "message_test", contact="mara")
        assert status == 200, reply
        wait_for("the first to be told", lambda: self.first("A CHANNEL FAILS (mara by email)"), 60)
        self.receiver.refused.add(f"/{self.case}/jonas")
        status, reply = command(self, "message_test", contact="jonas")
        assert status == 200, reply
        self.at_fault = time.monotonic()

    def watch(self):
        super().watch()
        assert len([each for each in self.all_told()
                    if each[3].startswith("A CHANNEL FAILS (mara by email)")]) == 1, "told twice"


class WebhookSlow(Case):
    fault = "a channel is slow (3 s, with `channel_slow: 2s`)"
    word = "A CHANNEL IS SLOW (mara by webhook)"
    shown = "A CHANNEL IS SLOW (mara by webhook) since"
    base = (3.0, "from the first message: as long as it takes")

    def produce(self):
        self.receiver.slow[f"/{self.case}/mara"] = 3
        self.at_fault = self.at_due


CASES = [ReadingsStop, BrokerKilled, BrokerLineCut, OutsideLineCut, MailServerDead,
         MailServerDeadAlone, PlannedTestFails,
         MailServerSilent, WebhookDead, SecondChannelDead, WebhookSlow]
