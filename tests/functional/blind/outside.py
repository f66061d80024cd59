"""What stands outside Saltmere in these tests: whoever is told, and a watcher who misses beats.

One HTTP receiver and one watcher serve all cases; nothing in here knows of the daemon.
"""

import http.server
import json
import threading
import time


class Receiver:
    """Takes POSTs to /CASE/CONTACT and beats to /CASE/beat, each with its time. A path may be made
    slow or refused."""

    def __init__(self):
        self.lock = threading.Lock()
        self.messages, self.beats = {}, {}  # by path: [(monotonic, body)], [monotonic]
        self.slow, self.refused = {}, set()
        receiver = self

        class Handler(http.server.BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"

            def do_POST(self):
                body = self.rfile.read(int(self.headers.get("Content-Length", "0")))
                if self.path in receiver.refused:
                    return self.answer(503)
                time.sleep(receiver.slow.get(self.path, 0))
                with receiver.lock:
                    receiver.messages.setdefault(self.path, []).append((time.monotonic(), body))
                self.answer(204)

            def do_GET(self):
                with receiver.lock:
                    receiver.beats.setdefault(self.path, []).append(time.monotonic())
                self.answer(204)

            def answer(self, code):
                self.send_response(code)
                self.send_header("Content-Length", "0")
                self.send_header("Connection", "close")
                self.end_headers()

            def log_message(self, *_):
                pass

        class Server(http.server.ThreadingHTTPServer):
            daemon_threads = True
            request_queue_size = 128

            def handle_error(self, *_):
                pass  # a line that is cut in the middle of a request is what these tests are about

        self.server = Server(("0.0.0.0", 0), Handler)
        self.port = self.server.server_address[1]
        threading.Thread(target=self.server.serve_forever, daemon=True).start()

    def heard(self, path):
        """[(monotonic, data)] of the messages that came to `path`."""
        with self.lock:
            messages = list(self.messages.get(path, []))
        return [(at, json.loads(body)["data"]) for at, body in messages]

    def last_beat(self, path):
        with self.lock:
            beats = self.beats.get(path, [])
            return beats[-1] if beats else None

    def stop(self):
        self.server.shutdown()
        self.server.server_close()


class Watcher(threading.Thread):
    """Somebody far away who expects a beat every so often, and rings where it fails to come."""

    def __init__(self, receiver, path, patience):
        super().__init__(daemon=True)
        self.receiver, self.path, self.patience = receiver, path, patience
        self.rang_at, self.ended = None, threading.Event()
        self.start()

    def run(self):
        while not self.ended.wait(0.1):
            last = self.receiver.last_beat(self.path)
            if last is None:
                continue
            if self.rang_at is None and time.monotonic() - last > self.patience:
                self.rang_at = time.monotonic()

    def forget(self):
        self.rang_at = None
