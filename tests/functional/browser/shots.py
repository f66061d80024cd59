"""Makes the README's pictures of the page, in the states that it can be in, from the real daemon:

    CLUTCHWARDD=... CLUTCHWARD=... CLUTCHWARD_BUILD=... shots.py ../../../daemon/web/shots

Each is the upper part of a phone 360 px wide, in sixteen colours so that it stays small.
"""

import collections
import os
import struct
import sys
import zlib

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))

from phone import PIN, PhoneTest  # noqa: E402
from harness import main, wait_for  # noqa: E402

FOLDER = ""
SIGNATURE = b"\x89PNG\r\n\x1a\n"


def pixels_of(data):
    """(width, rows of colours) of an 8-bit RGB or RGBA picture (PNG, RFC 2083, from memory)."""
    at, packed, head = len(SIGNATURE), b"", b""
    while at < len(data):
        size, kind = struct.unpack(">I4s", data[at:at + 8])
        if kind == b"IHDR":
            head = data[at + 8:at + 8 + size]
        if kind == b"IDAT":
            packed += data[at + 8:at + 8 + size]
        at += 12 + size
    width, height, depth, colour = struct.unpack(">IIBB", head[:10])
    if depth != 8 or colour not in (2, 6):
        raise ValueError(f"{depth} bits of kind {colour}; expected 8 bits of kind 2 or 6")
    step = 3 if colour == 2 else 4
    raw, length = zlib.decompress(packed), width * step
    before, rows = bytearray(length), []
    for y in range(height):
        way = raw[y * (length + 1)]
        line = bytearray(raw[y * (length + 1) + 1:(y + 1) * (length + 1)])
        for i in range(length):
            left = line[i - step] if i >= step else 0
            up, corner = before[i], before[i - step] if i >= step else 0
            if way == 4:
                guess = left + up - corner
                near = sorted(((abs(guess - left), 0, left), (abs(guess - up), 1, up),
                               (abs(guess - corner), 2, corner)))[0][2]
            else:
                near = (0, left, up, (left + up) // 2)[way]
            line[i] = (line[i] + near) & 255
        rows.append([bytes(line[i:i + 3]) for i in range(0, length, step)])
        before = line
    return width, rows


def in_sixteen(data):
    """The same picture with the sixteen colours that tell it best."""
    width, rows = pixels_of(data)
    counts = collections.Counter(each for row in rows for each in row)
    far = lambda one, other: sum((a - b) ** 2 for a, b in zip(one, other))  # noqa: E731
    palette = []
    for colour, _ in counts.most_common():
        # Grounds differ by little; the many shades of a letter's edge need no colour of their own.
        apart = 20 if len(palette) < 6 else 700
        if len(palette) < 16 and all(far(colour, each) > apart for each in palette):
            palette.append(colour)
    nearest = {each: min(range(len(palette)), key=lambda i: far(each, palette[i]))
               for each in counts}
    lines = b"".join(
        b"\0" + bytes(nearest[row[x]] << 4 | (nearest[row[x + 1]] if x + 1 < width else 0)
                      for x in range(0, width, 2)) for row in rows)
    out = SIGNATURE
    for kind, body in ((b"IHDR", struct.pack(">IIBBBBB", width, len(rows), 4, 3, 0, 0, 0)),
                       (b"PLTE", b"".join(palette)), (b"IDAT", zlib.compress(lines, 9)),
                       (b"IEND", b"")):
        out += struct.pack(">I", len(body)) + kind + body
        out += struct.pack(">I", zlib.crc32(kind + body))
    return out


class Shots(PhoneTest):
    def start(self, settings=None):
        self.settings["batches"].append({"id": "hens-13", "profile": "bench-hen",
                                         "cabinet": "hatcher-1", "set_at": self.set_at,
                                         "eggs": 20})
        self.settings["rules"]["silent"] = {"after": "30s"}
        super().start(settings)

    def take(self, name, height=1000, at=None):
        file = os.path.join(FOLDER, name + ".png")
        self.browser.shot_top(file, height, at or "")
        with open(file, "rb") as picture:
            small = in_sixteen(picture.read())
        with open(file, "wb") as picture:
            picture.write(small)

    def look(self, path="/"):
        self.browser.go(self.at + path)

    def both(self, hot=37.5):
        self.reading(hot)
        self.reading(37.2, cabinet="hatcher-1")

    def test_an_alarm(self):
        browser = self.browser
        browser.open({})
        self.log_in()
        self.both()
        wait_for("all is well", lambda: (self.look(), "All 2 cabinets in range" in
                                         browser.text())[1])
        self.take("calm")
        mark = self.phone.mark()
        self.both(39.9)
        self.event("raised", since=mark)
        data = self.webhook_of("raised")[1]
        wait_for("who was told", lambda: (self.look(), "Told: Mara" in browser.text())[1])
        self.take("alarm")
        browser.open({})
        browser.go(data["links"]["acknowledge"])
        self.take("link", 740)
        browser.fill("PIN of mara", "111111")
        browser.press("Acknowledge")
        self.take("wrong-pin", 740)
        browser.fill("PIN of mara", PIN)
        browser.press("Acknowledge")
        self.take("link-done", 740)
        self.log_in()
        self.both(39.9)
        self.look()
        self.take("acknowledged")
        browser.press("Snooze 30 min")
        self.take("snoozed")
        self.look("/cabinets/setter-a")
        browser.wait_for(".plot.drawn canvas")
        self.take("curve", 1000, "#curve")
        self.both(37.5)
        self.event("returned", since=mark)
        self.look()
        self.take("latched")
        browser.press("Reset")
        browser.press("I am at the cabinet")
        self.take("attending")
        self.both()
        self.broker.kill()
        wait_for("the page to say so", lambda: (self.look(), "Broker lost" in
                                                browser.text())[1])
        self.take("broker-lost")
        self.end_daemon()
        browser.pass_time(26000)
        browser.wait_text("This page has lost its connection")
        self.take("stale")

    def test_no_readings(self):
        browser = self.browser
        browser.open({})
        self.log_in()
        self.both()
        def silent():
            self.reading(37.5)
            return (self.alarm("silent", "hatcher-1") or {}).get("state") == "unacknowledged"
        wait_for("no readings", silent, 120)
        self.look()
        self.take("silent")

    def test_batches(self):
        browser = self.browser
        browser.open({})
        self.log_in()
        self.look("/cabinets/hatcher-1")
        browser.unfold("Start a batch…")
        self.take("start", 1000, "#part-batches")
        self.look("/cabinets/hatcher-1")
        browser.unfold("Candle…")
        browser.fill("Clear", "2")
        browser.fill("Dead, first third", "1")
        browser.fill("A note", "one blood ring")
        self.take("candle", 1000, "#part-batches")
        browser.press("Write it down")
        browser.unfold("Weigh…")
        browser.fill("All eggs together, in grams, without the tray", "1020.5")
        browser.press_last("Write it down")
        self.look("/batches")
        self.take("batches", 740)
        self.look("/batches/hens-13")
        self.take("batch", 1000)
        self.look("/batches/hens-13/report")
        self.take("report")
        self.look("/compare?batch=hens-13&batch=hens-12")
        self.take("compare")
        self.look("/cards/setter-a")
        self.take("card", 740)

    def test_night(self):
        browser = self.browser
        browser.open({"script": False, "scheme": "dark"})
        self.log_in()
        self.both(39.9)
        self.event("raised")
        self.look()
        self.take("dark")


if __name__ == "__main__":
    FOLDER = sys.argv.pop(1)
    main()
