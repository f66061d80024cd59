"""Ports for the servers of tests and benchmarks."""

import contextlib
import random
import socket


def free_port():
    """One that was free a moment ago, below the range from which the system takes those of outgoing
    connections: thousands of them, in a test beside this one, cannot take it. No other test gets it
    until this process ends, however late its server starts: an abstract socket of that name, which
    is held until then, says that it is taken."""
    while True:
        port = random.randrange(10_000, 32_000)
        with contextlib.suppress(OSError), socket.socket() as probe, \
                socket.socket(socket.AF_UNIX) as claim:
            claim.bind(f"\0clutchward-test-port-{port}")
            probe.bind(("127.0.0.1", port))
            claim.detach()
            return port


if __name__ == "__main__":
    print(free_port())
