"""What the page costs while readings come: bytes of a first view, time to its first byte, open event
streams, how soon an event stands in an open page, and a site of ten thousand cabinets.

The first view is what a browser fetches before anything can be read: the document and the style,
script and icon that it names, each with its head, packed where the daemon packs for a browser.
Every floor is the same request for the icon, in the same run: what connecting and one small answer
take on this machine."""

import contextlib
import multiprocessing
import re
import socket
import statistics
import threading
import time

import paho.mqtt.client as mqtt

from harness import figure, free_port, metric, percentile, say

RATE = 1_000  # readings a second
STREAMS = 200
CABINETS = 24


def fetch(page, path, source="127.0.0.1", headers=""):
    """(seconds to the first byte, seconds to the last, all bytes)."""
    with socket.socket() as one:
        one.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        one.bind((source, 0))
        one.settimeout(20)
        request = f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1\r\n{headers}\r\n".encode()
        began = time.perf_counter()
        one.connect(("127.0.0.1", page))
        one.sendall(request)
        parts = [one.recv(65536)]
        first = time.perf_counter() - began
        while more := one.recv(65536):
            parts.append(more)
        return first, time.perf_counter() - began, b"".join(parts)


class Readings:
    """RATE readings a second over all cabinets, until it is told to stop."""

    def __init__(self, shop, cabinets=CABINETS):
        versioned = getattr(mqtt, "CallbackAPIVersion", None)
        self.client = mqtt.Client(*((versioned.VERSION1,) if versioned else ()))
        self.client.max_queued_messages_set(0)
        self.client.connect("127.0.0.1", shop.port)
        self.client.loop_start()
        self.cabinets, self.sent, self.on = cabinets, 0, True
        self.thread = threading.Thread(target=self.run)

    def run(self):
        began = time.monotonic()
        while self.on:
            while self.sent < (time.monotonic() - began) * RATE:
                number = self.sent % self.cabinets
                self.client.publish(f"farm/c{number}/top/temperature", f"37.{self.sent % 7}")
                self.sent += 1
            time.sleep(0.002)

    def say(self, cabinet, value):
        self.client.publish(f"farm/{cabinet}/top/temperature", value, qos=1).wait_for_publish(20)

    def __enter__(self):
        self.thread.start()
        time.sleep(1)
        return self

    def __exit__(self, *_):
        self.on = False
        self.thread.join()
        time.sleep(1)
        self.client.disconnect()
        self.client.loop_stop()


TRUSTED = 'page: {{ listen: "127.0.0.1:{}", trust_loopback: true }}'


def site(shop, cabinets, page):
    """Everything that a manager sees: the page with its forms."""
    return shop.daemon(shop.config(cabinets, extra=TRUSTED.format(page)))


@contextlib.contextmanager
def streams(page, count):
    """Open event streams, from as many addresses as their number needs."""
    held = []
    try:
        for i in range(count):
            one = socket.socket()
            one.bind((f"127.0.1.{i // 20 + 1}", 0))
            one.connect(("127.0.0.1", page))
            one.sendall(b"GET /events HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")
            one.recv(4096)
            held.append(one)
        yield held
    finally:
        for one in held:
            one.close()


def view(page):
    """Bytes of the front page and of all that a browser needs to show it."""
    takes = "Accept-Encoding: gzip, deflate, br\r\n"
    document = fetch(page, "/", headers=takes)[2]
    named = re.findall(r'(?:href|src)="(/[^"]+\.(?:css|js|svg)(?:\?[^"]*)?)"', document.decode())
    if len(named) != 3:
        raise RuntimeError(f"the page names other files than its style, script and icon: {named}")
    return len(document) + sum(len(fetch(page, path, headers=takes)[2]) for path in named)


def first_view(shop, quick):
    """The worst of views: every one of the cabinets has an alarm that wants an answer."""
    page = free_port()
    with site(shop, CABINETS, page):
        with Readings(shop) as readings:
            pass
        calm = view(page)
        readings = Readings(shop)
        for i in range(CABINETS):
            readings.say(f"c{i}", "39.9")
        time.sleep(2)
        loud = view(page)
        readings.client.loop_stop()
    return figure(f"first view with {CABINETS} cabinets, all in alarm, with a manager's forms",
                  "bytes", [(loud, calm)], 60_000, judge="value", calm=calm)


def first_byte(shop, pairs, quick):
    page, out = free_port(), []
    with site(shop, CABINETS, page), Readings(shop):
        for pair in range(pairs):
            say(f"first byte: pair {pair + 1} of {pairs}")
            count = 100 if quick else 500
            floor = percentile([fetch(page, "/icon.svg")[0] for _ in range(count)], 0.99)
            value = percentile([fetch(page, "/")[0] for _ in range(count)], 0.99)
            out.append((value * 1000, floor * 1000))
    return figure(f"first byte of / with {CABINETS} cabinets and {RATE} readings/s, 99th percentile",
                  "ms", out, 5, judge="value")


def open_streams(shop, quick):
    page = free_port()
    with site(shop, CABINETS, page) as process:
        with Readings(shop):
            fetch(page, "/")
            time.sleep(2)
        before = process.resident()
        with streams(page, STREAMS):
            time.sleep(2)
            grown = process.resident() - before
            taken = metric(page, "clutchward_readings_total")
            with Readings(shop) as readings:
                time.sleep(5 if quick else 20)
            got = metric(page, "clutchward_readings_total") - taken
    lost = 1 - got / readings.sent
    return {"page_streams_memory": figure(f"resident for {STREAMS} open event streams", "bytes",
                                          [(max(grown, 1), STREAMS * 16 * 1024)], 10_000_000,
                                          judge="value"),
            "page_streams_loss": figure(f"readings lost with {STREAMS} streams open, of {RATE}/s",
                                        "part", [(max(lost, 0), 1)], 0.05, judge="value")}


def event_to_page(shop, quick):
    """From the publishing of the reading that raises an alarm to the page that shows it, fetched as
    the script does it: once the stream has told of a change."""
    took = []
    for _ in range(1 if quick else 3):
        took += to_page(shop, 30)  # the first page shows 50
    return figure(f"reading to page, {STREAMS} streams open and {RATE} readings/s, 99th percentile "
                  f"of {len(took)}", "ms", [(percentile(took, 0.99), statistics.median(took))], 200,
                  judge="value")


def to_page(shop, count):
    """Milliseconds that each of so many alarms took, in a site of its own."""
    page, took = free_port(), []
    with site(shop, CABINETS, page), Readings(shop) as readings, streams(page, STREAMS) as held:
        ear = held[0]
        ear.settimeout(20)
        for i in range(count):
            cabinet = f"hot{i}"
            began = time.perf_counter()
            readings.say(cabinet, "41.5")
            while True:
                if b"event: change" in ear.recv(65536) and \
                        f'id="c-{cabinet}"'.encode() in fetch(page, "/", "127.0.0.9")[2]:
                    break
                if time.perf_counter() - began > 20:
                    raise RuntimeError(f"{cabinet} does not come into the page")
            took.append((time.perf_counter() - began) * 1000)
            time.sleep(0.05)
    return took


def waits(page, paths):
    """(the longest that a request for the icon took while `paths` were asked for one after the other,
    seconds from first byte to last of the slowest of them)."""
    ours, theirs = multiprocessing.Pipe(duplex=False)

    # A process of its own: a thread would take this one's turns while it puts 20 MB together.
    def ask():
        slowest = 0
        for path in paths:
            _, whole, text = fetch(page, path)
            slowest = max(slowest, whole)
            if b" 200 " not in text[:16]:
                raise RuntimeError(f"{path} is refused: {text[:200]}")
        theirs.send(slowest)

    other = multiprocessing.get_context("fork").Process(target=ask)
    longest = 0
    other.start()
    while other.is_alive():
        longest = max(longest, fetch(page, "/icon.svg", "127.0.0.9")[1])
        time.sleep(0.0005)
    other.join()
    if other.exitcode != 0:
        raise RuntimeError(f"not every page came: {paths[0]}")
    return longest, ours.recv()


def many(shop, quick):
    """Ten thousand cabinets: how long one page of them takes, and how long the loop is held, as another
    request feels it, by those that tell of all of them. The floor of that is as many small requests."""
    page, took = free_port(), []
    count = 2_000 if quick else 10_000
    # One more than count: the cabinet that ends the flood.
    with shop.daemon(shop.config(count, extra=TRUSTED.format(page) + f"\nmax_cabinets: {count + 10}")):
        shop.flood(count * 3, cabinets=count)
        shop.settle()
        pages = (count + 1 + 49) // 50
        for number in (1, 2, pages // 2, pages) * 10:
            _, whole, text = fetch(page, f"/?page={number}")
            if b"of %d, the worst first" % (count + 1) not in text:
                raise RuntimeError("the page does not list what was asked for")
            took.append((whole * 1000, fetch(page, "/icon.svg")[1] * 1000))
        held, slowest = {}, {}
        for path in ("/?page=2", "/metrics", "/batches", "/api/batches", "/api/cabinets", "/calendar.ics"):
            say(f"held: {path}")
            held[path], slowest[path] = (1000 * each for each in waits(page, [path] * 5))
        floor = 1000 * waits(page, ["/style.css"] * 500)[0]
    worst = max(took)
    return {"page_many": figure(f"{count} cabinets: a page of them, the slowest of {len(took)}", "ms",
                                [worst], 50, judge="value",
                                median_ms=round(statistics.median(v for v, _ in took), 3)),
            "page_many_held": figure(f"{count} cabinets: the longest that a small request waits beside "
                                     "those that tell of all", "ms", [(max(held.values()), floor)], 50,
                                     judge="value",
                                     longest_ms={k: round(v, 1) for k, v in held.items()},
                                     whole_answer_ms={k: round(v, 1) for k, v in slowest.items()})}


def page(shop, pairs, quick):
    figures = {"page_first_view": first_view(shop, quick),
               "page_first_byte": first_byte(shop, pairs, quick),
               **open_streams(shop, quick),
               "page_event": event_to_page(shop, quick),
               **many(shop, quick)}
    return figures
