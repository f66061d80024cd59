"""Strangers at the page's port: ten thousand connections, headers that never end, bodies that are too
long, requests that two readers would read differently. All are refused in bounded memory, and what
the daemon is there for goes on meanwhile: readings are counted to the last one and an alarm is told.

The shapes of smuggled requests are those of RFC 9112, sections 6.1 to 6.3 and 11.2 (from memory).
"""

import contextlib
import resource
import select
import socket
import time

from harness import LIMIT, SiteTest, free_port, main, wait_for

CONNECTIONS = 10_000
# 512 connections of 16 kB each (base/limits.h), the kernel's own not counted, and room for what an
# allocator keeps (our own measure).
MEMORY = 24 * 1024 * 1024


class SiegeTest(SiteTest):
    def setUp(self):
        super().setUp()
        self.port = free_port()
        self.settings["page"] = {"listen": f"127.0.0.1:{self.port}"}
        self.start()
        for _ in range(50):
            self.reading(37.5)
        wait_for("the readings to be taken", lambda: self.taken() == 50)
        self.assertEqual(self.get()[:12], b"HTTP/1.1 200")
        self.memory = self.resident()

    def resident(self):
        with open(f"/proc/{self.daemon.process.pid}/status", encoding="ascii") as file:
            return next(int(line.split()[1]) * 1024 for line in file if line.startswith("VmRSS"))

    def taken(self):
        return self.daemon.watch()["intake"]["accepted"]

    def connect(self, source="127.0.0.1"):
        one = socket.socket()
        one.settimeout(LIMIT)
        one.bind((source, 0))
        one.connect(("127.0.0.1", self.port))
        return one

    def send(self, data, source="127.0.9.1"):
        """All that comes back until the daemon closes."""
        with contextlib.closing(self.connect(source)) as one:
            with contextlib.suppress(ConnectionError):
                one.sendall(data)
            out = b""
            with contextlib.suppress(ConnectionError):
                while more := one.recv(65536):
                    out += more
            return out

    def get(self):
        return self.send(b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n")

    def lives(self):
        """Readings are taken, an alarm is raised and told, the keeper's own way in is open."""
        before = self.taken()
        for _ in range(200):
            self.reading(37.6)
        wait_for("200 readings, none lost", lambda: self.taken() == before + 200)
        began = time.monotonic()
        self.reading(39.9)
        self.webhook_of("raised")
        self.assertLess(time.monotonic() - began, 25)  # not once the idle are cut, after 30 s
        self.done("acknowledge", cabinet="setter-a", alarm="high")
        self.assertLess(self.resident() - self.memory, MEMORY)

    def test_ten_thousand_connections(self):
        soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
        resource.setrlimit(resource.RLIMIT_NOFILE, (min(hard, CONNECTIONS + 1000), hard))
        self.addCleanup(resource.setrlimit, resource.RLIMIT_NOFILE, (soft, hard))
        with contextlib.ExitStack() as held:
            for number in range(CONNECTIONS):
                one = held.enter_context(socket.socket())
                one.setblocking(False)
                # Forty from each address: more than one may have, and from many.
                one.bind((f"127.1.{number // 40 // 200}.{number // 40 % 200 + 1}", 0))
                with contextlib.suppress(BlockingIOError):
                    one.connect(("127.0.0.1", self.port))
                with contextlib.suppress(OSError):
                    one.send(b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Slow: ")
            self.lives()
        wait_for("the page to be served again", lambda: self.get()[:12] == b"HTTP/1.1 200")

    def test_slow_and_endless_headers(self):
        with contextlib.ExitStack() as held:
            slow = [held.enter_context(self.connect(f"127.0.2.{i + 1}")) for i in range(100)]
            endless = [held.enter_context(self.connect(f"127.0.3.{i + 1}")) for i in range(100)]
            for one in endless:
                one.setblocking(False)
                with contextlib.suppress(OSError):
                    one.send(b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Long: ")
            sent, open_ones = 0, set(endless)
            end = time.monotonic() + LIMIT
            while open_ones and time.monotonic() < end:
                for one in slow:
                    with contextlib.suppress(OSError):  # one may have been cut
                        one.send(b"G")
                for one in list(open_ones):
                    try:
                        sent += one.send(b"a" * 65536)
                    except BlockingIOError:
                        select.select([], [one], [], 0.01)
                    except OSError:
                        open_ones.discard(one)
            self.assertFalse(open_ones, f"{len(open_ones)} may send on for ever, {sent} bytes so far")
            self.lives()

    def test_bodies_that_are_too_long(self):
        long = b"POST /api/command HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: %d\r\n\r\n"
        for size in (8193, 60_000, 70_000, 10**9, 10**18):
            answer = self.send(long % size + b"x" * min(size, 100_000))
            # One that is cut off while it still sends may not hear why.
            if answer:
                self.assertIn(answer[:12], (b"HTTP/1.1 413", b"HTTP/1.1 400"), size)
        with contextlib.ExitStack() as held:
            for i in range(200):  # each says that a body comes, and sends the least of it
                one = held.enter_context(self.connect(f"127.0.4.{i + 1}"))
                with contextlib.suppress(OSError):  # it may have been cut
                    one.sendall(long % 8192 + b"x")
            self.lives()

    def test_requests_that_two_readers_would_read_differently(self):
        hidden = b"POST /do HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 0\r\n\r\n"
        shapes = {
            "both lengths": b"Content-Length: 4\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n",
            "chunked": b"Transfer-Encoding: chunked\r\n\r\n0\r\n\r\n",
            "chunked, odd case": b"transfer-encoding:\tchUnked\r\n\r\n0\r\n\r\n",
            "chunked, then not": b"Transfer-Encoding: chunked, identity\r\n\r\n0\r\n\r\n",
            "two encodings": b"Transfer-Encoding: x\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n",
            "blank before the colon": b"Transfer-Encoding : chunked\r\n\r\n0\r\n\r\n",
            "two lengths": b"Content-Length: 0\r\nContent-Length: 5\r\n\r\n",
            "a list of lengths": b"Content-Length: 0, 5\r\n\r\n",
            "a sign": b"Content-Length: +0\r\n\r\n",
            "hexadecimal": b"Content-Length: 0x0\r\n\r\n",
            "a folded line": b"Content-Length:\r\n 0\r\n\r\n",
            "a bare line feed": b"X: y\nContent-Length: 5\r\n\r\n",
            "a bare return": b"X: y\rContent-Length: 5\r\n\r\n",
            "a null": b"Content-Length: 0\x00\r\n\r\n",
        }
        for name, shape in shapes.items():
            for start in (b"POST /api/command HTTP/1.1\r\nHost: 127.0.0.1\r\n",
                          b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n"):
                answer = self.send(start + shape + hidden)
                # Whatever is made of the first, what follows it on the connection is never read.
                heads = answer.count(b"HTTP/1.1 ")
                self.assertFalse(b"HTTP/1.1 303" in answer, (name, answer[:400]))
                self.assertLessEqual(heads - answer.count(b"HTTP/1.1 400"), 1, (name, answer[:400]))
                if start.startswith(b"POST"):
                    self.assertNotIn(b"HTTP/1.1 2", answer, name)
        self.lives()


if __name__ == "__main__":
    main()
