"""More messages than the outbox holds: no channel takes any for so long that the least urgent are
thrown away. That is told, over the way that works."""

import contextlib
import json
import socket
import threading

from harness import SiteTest, main, wait_for

HOLDS = 10_000     # limits::kOutboxEntries
CONTACTS, EACH = 10, 10


class OverflowTest(SiteTest):
    def listen_and_say_nothing(self):
        """A receiver that takes every connection and never answers."""
        server = socket.create_server(("127.0.0.1", 0), backlog=256)
        kept = []

        def accept():
            with contextlib.suppress(OSError):
                while True:
                    kept.append(server.accept()[0])
        threading.Thread(target=accept, daemon=True).start()
        self.addCleanup(lambda: [each.close() for each in kept])
        self.addCleanup(server.close)
        return server.getsockname()[1]

    def test_a_full_outbox_is_told_and_what_matters_stays(self):
        port = self.listen_and_say_nothing()
        for i in range(CONTACTS):
            self.settings["contacts"][f"keeper-{i}"] = [
                {"webhook": f"http://127.0.0.1:{port}/{i}/{k}"} for k in range(EACH)]
        self.settings["contacts"]["mara"] = [{"email": "mara@saltmere.example"}]
        self.start()
        asked = 0
        while asked * CONTACTS * EACH <= HOLDS + 500:
            for i in range(CONTACTS):
                body = json.dumps({"id": f"t-{asked}-{i}", "by": "mara", "do": "message_test",
                                   "contact": f"keeper-{i}"})
                status, text = self.daemon.ask("/api/command", "POST", body)
                self.assertEqual((status, json.loads(text)["ok"]), (200, True), text)
            asked += 1
        mail = self.mail_with("MESSAGES WERE THROWN AWAY at Saltmere. Look why no channel takes them")
        self.assertRegex(mail["text"], r"So many messages wait that \d+ were thrown away")
        watch = self.daemon.watch()
        self.assertIn("MESSAGES WERE THROWN AWAY", [each["what"] for each in watch["faults"]])
        self.assertLessEqual(watch["waiting_messages"], HOLDS)
        # A high alarm finds room: something less urgent goes.
        self.reading(39.9)
        self.mail_with("TOO HOT")
        wait_for("the outbox to be as full as it may be",
                 lambda: self.daemon.watch()["waiting_messages"] <= HOLDS)
        self.assertTrue(self.daemon.alive())


if __name__ == "__main__":
    main()
