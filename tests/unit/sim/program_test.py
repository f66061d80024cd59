#!/usr/bin/python3
"""cabinet-sim as a program: its command line, its recordings, and a real broker on the loopback.

Argument: the program.
"""
import json
import pathlib
import signal
import socket
import subprocess
import sys
import tempfile
import time
import unittest

sys.path.append(str(pathlib.Path(__file__).resolve().parents[2]))
from lines import LIMIT, read_line  # noqa: E402
from ports import free_port  # noqa: E402

PROGRAM = None
EX_USAGE, EX_UNAVAILABLE, EX_CANTCREAT, EX_IOERR = 64, 69, 73, 74


def run(*arguments):
    done = subprocess.run([PROGRAM, *arguments], capture_output=True, text=True, timeout=LIMIT)
    return done.returncode, done.stdout, done.stderr


class CommandLine(unittest.TestCase):
    def test_faults_in_it_are_told_whole(self):
        for arguments, why in (
                (["--broker", "http://x"],
                 '--broker: expected mqtt://HOST[:PORT], not "http://x"'),
                (["--cabinet", "setter-b", "--fault", "setter-a:fan@1min"],
                 '--fault: there is no cabinet "setter-a", did you mean "setter-b"'),
                (["--cabinet", "a", "--cabinet", "a"], '--cabinet: "a" stands twice'),
                (["--cabinet", "a/b"], '--cabinet: "a/b" cannot stand in a topic; expected 1 to 64 '
                                       'bytes without blanks, /, + and #'),
                (["--cabinets", "2", "--cabinet", "a"],
                 "--cabinets and --cabinet: expected one of the two"),
                (["--prefix", "farm/#"],
                 '--prefix: expected words with / between them, not "farm/#"'),
                (["--interval", "0s"], "--interval: expected at least 100ms, not 0s"),
                (["--record", "-"],
                 "--record: expected --duration as well, or the recording would never end"),
                (["--start", "yesterday"],
                 '--start: expected a time such as 2026-03-01T08:00:00Z, not "yesterday"')):
            with self.subTest(why):
                self.assertEqual(run(*arguments), (
                    EX_USAGE, "", f"cabinet-sim: {why}\ncabinet-sim --help says more\n"))

    def test_lists_its_faults(self):
        code, out, err = run("--list-faults")
        self.assertEqual((code, err), (0, ""))
        words = [line.split()[0] for line in out.splitlines()[2:]]
        self.assertEqual(words, ["heater-on", "heater-dead", "creep", "fan", "door", "probe-dead",
                                 "probe-frozen", "turner", "power", "radio"])

    def test_broker_that_is_not_there(self):
        port = free_port()
        code, out, err = run("--broker", f"mqtt://127.0.0.1:{port}")
        self.assertEqual((code, out), (EX_UNAVAILABLE, ""))
        self.assertTrue(err.startswith(f"cabinet-sim: broker 127.0.0.1:{port}: "), err)


class Recording(unittest.TestCase):
    def test_same_seed_same_bytes(self):
        arguments = ["--cabinets", "3", "--duration", "3h", "--record", "-",
                     "--fault", "cabinet-2:door@1h+20min"]
        first = run(*arguments, "--seed", "7")
        self.assertEqual(first[0], 0)
        self.assertGreater(len(first[1].splitlines()), 3 * 4 * 1000)
        self.assertEqual(first, run(*arguments, "--seed", "7"))
        self.assertNotEqual(first[1], run(*arguments, "--seed", "8")[1])

    def test_lines_are_messages_in_time_order(self):
        code, out, _ = run("--cabinet", "setter-a", "--duration", "1h", "--record", "-", "--json",
                           "--start", "2026-03-29T00:30:00+00:00")
        self.assertEqual(code, 0)
        lines = [json.loads(line) for line in out.splitlines()]
        times = [line["tst"] for line in lines]
        self.assertEqual(times, sorted(times))
        self.assertTrue(times[0].startswith("2026-03-29T00:30:0"))
        self.assertTrue(all(len(time) == len("2026-03-29T00:30:00.000000Z") for time in times))
        self.assertEqual({line["topic"] for line in lines},
                         {"farm/setter-a/json", "farm/setter-a/turned", "farm/setter-a/power"})
        body = json.loads(next(x["payload"] for x in lines if x["topic"].endswith("json")))
        self.assertEqual(set(body["temperature"]), {"top", "middle", "bottom"})

    def test_files_that_cannot_be_written(self):
        self.assertEqual(run("--duration", "1h", "--record", "/nonexistent/x"), (
            EX_CANTCREAT, "", "cabinet-sim: /nonexistent/x: No such file or directory\n"))
        self.assertEqual(run("--duration", "1h", "--record", "/dev/full"), (
            EX_IOERR, "", "cabinet-sim: /dev/full: could not be written\n"))


class Broker(unittest.TestCase):
    def setUp(self):
        self.folder = tempfile.TemporaryDirectory()
        self.addCleanup(self.folder.cleanup)
        self.config = pathlib.Path(self.folder.name) / "broker.conf"
        self.port = free_port()
        self.config.write_text(f"listener {self.port} 127.0.0.1\nallow_anonymous true\n"
                               "persistence false\nuser root\n")
        self.broker = self.start_broker()
        self.addCleanup(lambda: (self.broker.kill(), self.broker.wait()))

    def start_broker(self):
        broker = subprocess.Popen(["/usr/sbin/mosquitto", "-c", self.config],
                                  stderr=subprocess.DEVNULL)
        end = time.monotonic() + LIMIT
        while time.monotonic() < end and broker.poll() is None:
            try:
                socket.create_connection(("127.0.0.1", self.port), 1).close()
                return broker
            except OSError:
                time.sleep(0.05)
        self.fail("the broker did not start")

    def simulate(self, *arguments):
        process = subprocess.Popen(
            [PROGRAM, "--broker", f"mqtt://127.0.0.1:{self.port}", *arguments],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        self.addCleanup(lambda: (process.kill(), process.wait(), process.stdout.close(),
                                 process.stderr.close()))
        return process

    def hear(self, topic, count):
        done = subprocess.run(["mosquitto_sub", "-p", str(self.port), "-t", topic, "-v",
                               "-C", str(count), "-W", str(int(LIMIT))],
                              capture_output=True, text=True, timeout=2 * LIMIT)
        self.assertEqual(done.returncode, 0, f"{count} messages on {topic} did not come")
        return [line.split(" ", 1) for line in done.stdout.splitlines()]

    @staticmethod
    def wakes(process):
        status = pathlib.Path(f"/proc/{process.pid}/status").read_text(encoding="ascii")
        return int(status.split("\nvoluntary_ctxt_switches:")[1].split()[0])

    def tell(self, topic, text):
        subprocess.run(["mosquitto_pub", "-p", str(self.port), "-t", topic, "-m", text],
                       check=True, timeout=LIMIT)

    def test_publishes_until_told_to_stop(self):
        process = self.simulate("--cabinet", "setter-a", "--speed", "600", "--prefix", "shed/1")
        heard = dict(self.hear("shed/1/+/+/temperature", 30))
        self.assertEqual(set(heard), {f"shed/1/setter-a/{probe}/temperature"
                                      for probe in ("top", "middle", "bottom")})
        self.assertTrue(all(36 < float(value) < 39 for value in heard.values()), heard)
        process.send_signal(signal.SIGTERM)
        self.assertEqual(process.communicate(timeout=LIMIT), ("", ""))
        self.assertEqual(process.returncode, 0)

    def test_ends_by_itself(self):
        process = self.simulate("--duration", "10min", "--speed", "1000")
        self.assertEqual(process.communicate(timeout=LIMIT), ("", ""))
        self.assertEqual(process.returncode, 0)

    def test_takes_orders(self):
        process = self.simulate("--cabinet", "a", "--speed", "2000", "--control", "sim/orders")
        self.hear("farm/a/power", 1)
        self.tell("sim/orders", "a:power")
        self.assertEqual(read_line(process, process.stderr), "cabinet-sim: a: fault ordered\n")
        while self.hear("farm/a/power", 1)[0][1] != "off":
            pass
        self.tell("sim/orders", "a:mend")
        self.assertEqual(read_line(process, process.stderr), "cabinet-sim: a: faults mended\n")
        while self.hear("farm/a/power", 1)[0][1] != "on":
            pass
        self.tell("sim/orders", "b:mend")
        self.assertEqual(read_line(process, process.stderr), "cabinet-sim: there is no cabinet \"b\"\n")

    def test_finds_the_broker_again(self):
        process = self.simulate("--speed", "600")
        self.hear("farm/#", 10)
        self.broker.kill()
        self.broker.wait()
        # Until messages are lost, which it is to tell: it wakes for each, or to look for the broker.
        time.sleep(1)
        wakes, end = self.wakes(process), time.monotonic() + LIMIT
        while self.wakes(process) < wakes + 200 and time.monotonic() < end:
            time.sleep(0.05)
        self.broker = self.start_broker()
        self.hear("farm/#", 10)
        process.send_signal(signal.SIGINT)
        _, err = process.communicate(timeout=LIMIT)
        self.assertRegex(err, r"^cabinet-sim: \d+ messages were lost while the broker was away\n$")
        self.assertEqual(process.returncode, 0)


if __name__ == "__main__":
    PROGRAM = sys.argv.pop(1)
    unittest.main()
