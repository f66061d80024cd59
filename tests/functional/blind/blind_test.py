"""Who is told when something fails, and after how long: each fault while an alarm is due.

    blind_test.py [FOLDER] [CASE...]

Every case has a Saltmere of its own (real daemon, Mosquitto, SMTP server, webhooks, an outside
watcher of beats); they run beside one another. Prints the table; writes blind.md and blind.json into
FOLDER (or $BLIND_FOLDER) where one is named. Fails where a cell is empty or a bound is not kept.
"""

import json
import os
import queue
import sys
import threading
import time

import faults_machine
import faults_ways
from line import House, Relay, why_no_namespaces
from outside import Receiver

# The longest first; the table has them in another order.
CASES = sorted(faults_ways.CASES + faults_machine.CASES,
               key=lambda case: case not in (faults_machine.ClockNotSet,
                                             faults_ways.PlannedTestFails))
ORDER = faults_machine.CASES[:4] + faults_ways.CASES + faults_machine.CASES[4:]
AT_ONCE = int(os.environ.get("BLIND_AT_ONCE", "8"))


def cables_for(case):
    house = House()
    case.later(house.end)
    case.daemon_.wrapper = house.inside
    return house.cable(), house.cable()


def relays_for(_case):
    return Relay(), Relay()


def seconds(value):
    return f"{value:.1f} s"


def told_text(entries, base):
    """Who, way and time, those of one person and time together: "5 s + 0.3 s"."""
    length, label = base
    parts = []
    for who, after in sorted(entries, key=lambda each: each[1]):
        if length and after >= length - 0.05 and who != "the outside watcher":
            parts.append(f"{who}: {length:g} s + {seconds(after - length)}")
        else:
            parts.append(f"{who}: {seconds(max(0.0, after))}")
    text = "; ".join(parts)
    return text + (f" ({label.rstrip(':')})" if label else "")


def table(rows):
    lines = ["| fault | the alarm that was due | who is told of the fault, after how long | blind |",
             "|---|---|---|---|"]
    for row in rows:
        lines.append(f"| {row['fault']} | {told_text(row['alarm'], row['alarm_base'])} "
                     f"| {told_text(row['told'], row['base'])} | {seconds(row['blind'])} |")
    return "\n".join(lines) + "\n"


def run_all(cases):
    waiting = queue.Queue()
    for case in cases:
        waiting.put(case)

    def work():
        while True:
            try:
                case = waiting.get_nowait()
            except queue.Empty:
                return
            begun = time.monotonic()
            case.run()
            word = "skipped: " + case.skipped if case.skipped else "FAILED" if case.error else "ok"
            print(f"{case.name}: {word} ({time.monotonic() - begun:.0f} s)", flush=True)
    workers = [threading.Thread(target=work) for _ in range(AT_ONCE)]
    for worker in workers:
        worker.start()
        time.sleep(0.3)
    for worker in workers:
        worker.join()


def main():
    folder = os.environ.get("BLIND_FOLDER", "")
    words = sys.argv[1:]
    if words and os.path.sep in words[0]:
        folder = words.pop(0)
    why = why_no_namespaces()
    if why:
        print(f"NO NETWORK NAMESPACES HERE ({why}): lines are cut by relays that stop relaying",
              flush=True)
    receiver = Receiver()
    makes_lines = relays_for if why else cables_for
    chosen = [kind(receiver, makes_lines) for kind in CASES if not words or kind.__name__ in words]
    begun = time.monotonic()
    run_all(chosen)
    chosen.sort(key=lambda case: ORDER.index(type(case)))
    rows = [case.row for case in chosen if case.row]
    text = table(rows)
    print(f"\n{text}\nHow long the test took: {time.monotonic() - begun:.0f} s. Delays of this test: beats every "
          "10 s, a watcher who waits 14 s, channel_fails 8 s, rule broker after 5 s, silent after 5 s.")
    for case in chosen:
        if case.skipped:
            print(f"SKIPPED {case.fault}: {case.skipped}")
    if folder:
        os.makedirs(folder, exist_ok=True)
        with open(os.path.join(folder, "blind.md"), "w", encoding="utf-8") as file:
            file.write(text)
        with open(os.path.join(folder, "blind.json"), "w", encoding="utf-8") as file:
            json.dump(rows, file, indent=1, ensure_ascii=False)
    failed = [case for case in chosen if case.error]
    for case in failed:
        print(f"--- {case.name}: {case.error}\n--- its daemon's log:\n{case.log}---", file=sys.stderr)
    receiver.stop()
    sys.exit(1 if failed or not rows else 0)


if __name__ == "__main__":
    main()
