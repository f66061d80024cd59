"""The browser that phone.cjs drives, and the site that it looks at."""

import json
import os
import subprocess
import sys

import html5lib

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(os.path.dirname(HERE), "daemon"))

from harness import KEEPER, LIMIT, SiteTest, free_port, read_line, wait_for  # noqa: E402

PASSPHRASE = "four words of goose down"
PIN = "482139"
# A time as the page writes it: with its day where that is not today.
CLOCK = r"(\d+ \w+ )?\d\d:\d\d"


def hash_of(secret, *options):
    made = subprocess.run([KEEPER, "passphrase", *options], input=secret + "\n", text=True,
                          capture_output=True, check=True, timeout=LIMIT)
    return made.stdout.strip()


class Phone:
    """The browser; a call of any act of phone.cjs."""

    def __init__(self):
        self.process = subprocess.Popen(["node", os.path.join(HERE, "phone.cjs")], text=True,
                                        stdin=subprocess.PIPE, stdout=subprocess.PIPE)

    def __getattr__(self, act):
        def call(*arguments):
            self.process.stdin.write(json.dumps([act, *arguments]) + "\n")
            self.process.stdin.flush()
            line = read_line(self.process)
            if not line:
                raise AssertionError(f"the browser is gone at {act}{arguments}")
            answer = json.loads(line)
            if "error" in answer:
                raise AssertionError(f"{act}{arguments}: {answer['error']}")
            return answer["ok"]
        return call

    def close(self):
        self.process.stdin.close()
        self.process.wait(LIMIT)
        self.process.stdout.close()


class PhoneTest(SiteTest):
    """A site with a page, and a phone that looks at it."""

    def setUp(self):
        super().setUp()
        self.port = free_port()
        self.at = f"http://127.0.0.1:{self.port}"
        self.settings["page"] = {"listen": f"127.0.0.1:{self.port}", "url": self.at}
        self.settings["people"] = {
            "mara": {"role": "manage", "passphrase": hash_of(PASSPHRASE),
                     "pin": hash_of(PIN, "--pin")}}
        self.settings["cabinets"]["hatcher-1"] = {"name": "Hatcher 1"}
        self.settings["contacts"]["joss"] = [{"webhook": self.hook.url(),
                                              "secret_file": self.secret_file}]
        self.settings["escalation"].append({"after": "1h", "notify": ["joss"]})
        self.browser = Phone()
        self.addCleanup(self.browser.close)
        self.start()
        self.reading(37.5)
        self.reading(37.2, cabinet="hatcher-1")
        # Not before: the page would be looked at without them.
        wait_for("both readings in the pictures", lambda: all(
            (self.phone.picture(cabinet) or {}).get("hottest")
            for cabinet in ("setter-a", "hatcher-1")))

    def looks_right(self, name):
        """Nothing to complain of, for axe, the console, a thumb or an HTML checker."""
        folder = os.environ.get("SHOTS")
        if folder:
            self.browser.shot(os.path.join(folder, name + ".png"))
        self.assertEqual(self.browser.cramped(), [], name)
        self.assertEqual(self.browser.complaints(), [], name)
        # Every parse error of the HTML standard is one here.
        html5lib.HTMLParser(strict=True).parse(self.browser.source())

    def with_curve(self):
        """The page waits half a second for its curve and comes without: it is ready for the next."""
        def drawn():
            if self.browser.count(".plot > svg.curve"):
                return True
            self.browser.go(self.browser.url())
            return False
        wait_for("the curve", drawn)

    def log_in(self):
        self.assertEqual(self.browser.go(self.at + "/"), 200)
        self.assertIn("/login", self.browser.url())
        html5lib.HTMLParser(strict=True).parse(self.browser.source())
        self.browser.fill("Name", "mara")
        self.browser.fill("Passphrase", PASSPHRASE)
        self.browser.press("Log in")
