"""What a person is told after an answer, and that nothing is lost or hidden meanwhile."""

import os
import sys

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))

from phone import CLOCK, PIN, PhoneTest  # noqa: E402
from harness import main, wait_for  # noqa: E402


class AnswersTest(PhoneTest):
    def test_alarm_on_a_page_that_nobody_has_touched(self):
        """The order of the cards changes, and all of them are there all the time."""
        browser = self.browser
        # With eggs it stands before the other until that one's alarm.
        self.done("batch_start", batch="geese-3", cabinet="hatcher-1", profile="bench-hen")
        browser.open({})
        self.log_in()
        browser.go(self.at + "/")
        browser.pass_time(9000)
        browser.count_fewest("#cards article")
        first = "#cards article:first-child#c-%s"
        # Whichever stands first, the other comes before it: the order must change.
        self.assertEqual(browser.count(first % "setter-a"), 0)
        self.reading(39.9)
        browser.wait_for(first % "setter-a")
        self.assertIn("Acknowledge", browser.buttons())
        self.assertEqual(browser.count("#cards"), 1)
        self.assertEqual(browser.fewest(), 2)
        self.assertEqual(browser.complaints(), [])

    def test_figures_of_the_curve_are_there_once_it_is_pointed_at(self):
        browser = self.browser
        browser.open({})
        self.log_in()
        # The history is written a while after the reading.
        wait_for("a curve", lambda: (browser.go(self.at + "/cabinets/setter-a"),
                                     browser.count(".plot"))[1])
        browser.wait_for(".plot.drawn canvas")
        self.assertFalse(browser.seen(".u-legend"))
        # Pointed at again where the page has renewed itself and drawn it anew meanwhile.
        wait_for("the figures", lambda: browser.point(".u-over") and browser.seen(".u-legend"))
        self.assertEqual(browser.complaints(), [])

    def test_who_wakes_and_a_message_to_try_it(self):
        browser = self.browser
        browser.open({})
        self.log_in()
        browser.go(self.at + "/wakes")
        self.looks_right("wakes")
        self.assertEqual(browser.axe(), [])
        browser.press("Send me a test message")
        self.assertIn("A test message is on its way to Mara.", browser.text())
        wait_for("the test message", lambda: any(
            "TEST" in data["first_line"] for _, data in self.hook.data()))
        browser.go(self.at + "/nowhere-at-all")
        browser.press_link("Back")
        self.assertEqual(browser.url(), self.at + "/")

    def test_refused_weighing_is_still_there_to_be_put_right(self):
        browser, grams = self.browser, "All eggs together, in grams, without the tray"
        browser.open({"script": False})
        self.log_in()
        for weight in ("2400", "2640"):
            browser.go(self.at + "/cabinets/setter-a")
            browser.open_details("Weigh…")
            browser.fill(grams, weight)
            browser.press_last("Write it down")
        self.assertRegex(browser.text(), r"Heavier than the last weighing: 55\.00 g an egg found, "
                                         r"50\.00 g on day \d\d?(\.\d)?: eggs gain no mass")
        self.assertNotIn('"sure"', browser.text())
        self.assertEqual(browser.value(grams), "2640")
        browser.tick("It is right although it seems impossible")
        browser.press("Try again")
        self.assertIn("/cabinets/setter-a", browser.url())
        browser.go(self.at + "/batches/hens-12")
        self.assertIn("Weighed: 2640 g", browser.text())

    def test_passing_on_says_so_and_ends_where_nobody_is_left(self):
        browser = self.browser
        browser.open({"script": False})
        self.log_in()
        self.reading(39.9)
        data = self.webhook_of("raised")[1]
        wait_for("the page to say who was told", lambda: (
            browser.go(self.at + "/"), "Told: Mara." in browser.text())[1])
        browser.press("Pass on")
        self.event("passed_on")
        wait_for("the page to say who is told now", lambda: (
            browser.go(self.at + "/"), "Told: Mara and Joss." in browser.text())[1])
        self.assertRegex(browser.text(), rf"Mara passed it on at {CLOCK}\.")
        self.assertIn("Nobody is left to pass it on to.", browser.text())
        self.assertNotIn("Pass on", browser.buttons())
        self.looks_right("passed-on")
        # The link of the same message knows of it.
        browser.open({})
        browser.go(data["links"]["pass_on"])
        self.assertRegex(browser.text(), rf"Mara passed it on at {CLOCK} already\.")
        self.assertEqual(browser.buttons(), [])
        self.assertNotIn("Nothing has been done", browser.text())

    def test_passing_on_by_a_link(self):
        browser = self.browser
        self.reading(39.9)
        browser.open({})
        browser.go(self.webhook_of("raised")[1]["links"]["pass_on"])
        browser.fill("PIN of mara", PIN)
        browser.press("Pass on")
        self.event("passed_on")
        self.assertIn("You have passed it on, Mara.", browser.text())
        self.assertEqual(browser.buttons(), [])
        self.assertNotIn("Nothing has been done", browser.text())
        self.looks_right("link-passed-on")


if __name__ == "__main__":
    main()
