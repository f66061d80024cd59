"""What a program says, line by line, waited for with a limit."""

import threading

# A busy machine with two cores and a sanitizer: nothing waits this long where all is well.
LIMIT = 90.0


def read_line(process, stream=None, limit=LIMIT):
    """The next line of its standard output (or of another stream of its): "" where it has ended, and
    where none comes in time, for which it is ended: a test that hangs says nothing of why."""
    timer = threading.Timer(limit, process.kill)
    timer.start()
    try:
        return (stream or process.stdout).readline()
    finally:
        timer.cancel()
