"""A line that can be cut: a cable between network namespaces where this machine lets us make one,
otherwise a relay that stops relaying. Both leave connections open and silent, as a dead switch or a
fallen mast does; neither says so to either end."""

import os
import random
import socket
import subprocess
import threading
import time


def run(*words):
    return subprocess.run(words, capture_output=True, text=True, check=False, timeout=60)


def why_no_namespaces():
    """Why this machine cannot lend us a network of our own; "" where it can."""
    if os.geteuid() != 0:
        return "not root"
    if run("which", "ip").returncode:
        return "no program ip (package iproute2)"
    try:
        house = House()
        house.end()
    except (AssertionError, OSError) as error:
        return str(error)
    return ""


class House:
    """A network namespace with nothing in it but its own loopback."""

    def __init__(self):
        self.holder = subprocess.Popen(["unshare", "-n", "sleep", "900"])
        self.number, self.cables = None, []
        own = os.readlink("/proc/self/ns/net")
        end = time.monotonic() + 60
        while True:
            try:
                if os.readlink(f"/proc/{self.holder.pid}/ns/net") != own:
                    break
            except OSError:
                pass
            assert self.holder.poll() is None and time.monotonic() < end, "unshare -n fails"
            time.sleep(0.02)
        self.inside = ["nsenter", "-t", str(self.holder.pid), "-n"]
        try:
            self.must(*self.inside, "ip", "link", "set", "lo", "up")
        except AssertionError:
            self.end()
            raise

    @staticmethod
    def must(*words):
        done = run(*words)
        assert done.returncode == 0, " ".join(words) + ": " + (done.stderr.strip() or "fails")

    def cable(self):
        """A cable to the test's own network."""
        # A number that no other test of this machine has: who makes the device first has it.
        for _ in range(100):
            number = random.randrange(256 * 64)
            ours, theirs = f"cw{number}a", f"cw{number}b"
            done = run("ip", "link", "add", ours, "type", "veth", "peer", "name", theirs, "netns",
                       str(self.holder.pid))
            if "exists" not in done.stderr:
                break
        assert done.returncode == 0, done.stderr
        net = f"10.213.{number // 64 % 256}.{number % 64 * 4}".rsplit(".", 1)
        base = int(net[1])
        self.must("ip", "addr", "add", f"{net[0]}.{base + 1}/30", "dev", ours)
        self.must("ip", "link", "set", ours, "up")
        self.must(*self.inside, "ip", "addr", "add", f"{net[0]}.{base + 2}/30", "dev", theirs)
        self.must(*self.inside, "ip", "link", "set", theirs, "up")
        return Cable(ours, f"{net[0]}.{base + 1}")

    def end(self):
        self.holder.kill()
        self.holder.wait()


class Cable:
    kind = "a cable between network namespaces"

    def __init__(self, device, host):
        self.device, self.host = device, host

    def port(self, port):
        return port

    def cut(self):
        House.must("ip", "link", "set", self.device, "down")

    def mend(self):
        House.must("ip", "link", "set", self.device, "up")

    def end(self):
        pass  # goes with its namespace


class Relay:
    """One end for each port that is asked for."""

    kind = "a relay that stops relaying"
    host = "127.0.0.1"

    def __init__(self):
        self.open, self.listeners, self.sockets = threading.Event(), [], []
        self.open.set()

    def port(self, target):
        listener = socket.create_server(("127.0.0.1", 0), backlog=64)
        self.listeners.append(listener)
        threading.Thread(target=self.accept, args=(listener, target), daemon=True).start()
        return listener.getsockname()[1]

    def accept(self, listener, target):
        while True:
            try:
                near, _ = listener.accept()
            except OSError:
                return
            threading.Thread(target=self.link, args=(near, target), daemon=True).start()

    def link(self, near, target):
        self.open.wait()
        try:
            far = socket.create_connection(("127.0.0.1", target), timeout=10)
        except OSError:
            near.close()
            return
        far.settimeout(None)
        self.sockets += [near, far]
        for one, other in ((near, far), (far, near)):
            threading.Thread(target=self.pump, args=(one, other), daemon=True).start()

    def pump(self, one, other):
        try:
            while data := one.recv(65536):
                self.open.wait()
                other.sendall(data)
        except OSError:
            pass
        self.open.wait()  # a line that is cut does not tell that somebody has hung up, either
        for each in (one, other):
            try:
                each.shutdown(socket.SHUT_RDWR)
            except OSError:
                pass

    def cut(self):
        self.open.clear()

    def mend(self):
        self.open.set()

    def end(self):
        self.open.set()
        for each in self.listeners + self.sockets:
            each.close()
