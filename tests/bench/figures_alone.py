"""Figures of one program alone: the engine, the store, the replay."""

import os
import random
import subprocess
import time

from harness import ask, BUILD, figure, say, spread


def reading(shop, pairs, quick):
    readings = 200_000 if quick else 1_000_000
    targets = {1: 200, 100: None, 10_000: None, 20_000 if quick else 100_000: 800}
    runs = {cabinets: [] for cabinets in targets}
    for pair in range(pairs):
        say(f"reading: pair {pair + 1} of {pairs}")
        for cabinets in targets:
            runs[cabinets].append(ask("reading_cost", cabinets, readings))
    figures = {}
    growth = {}
    for cabinets, target in targets.items():
        costs = [(run["ns"], run["floor_ns"]) for run in runs[cabinets]]
        growth[str(cabinets)] = {
            "ns": spread([value for value, _ in costs]),
            "floor_ns": spread([floor for _, floor in costs]),
            "engine_bytes_per_cabinet": runs[cabinets][0]["engine_bytes_per_cabinet"]}
        if target:
            name = "reading_one" if cabinets == 1 else "reading_many"
            figures[name] = figure(f"one reading, look-up, parse and engine, {cabinets} cabinets",
                                   "ns CPU", costs, target, judge="value")
    largest = list(targets)[-1]
    figures["reading_many"]["growth"] = growth
    figures["reading_many"]["cabinets"] = largest
    return figures


def store(shop, pairs, quick):
    turns = 300 if quick else 1_000
    costs, syncs = [], []
    for pair in range(pairs):
        say(f"store: pair {pair + 1} of {pairs}")
        run = ask("store_turns", shop.place("store"), turns)
        costs.append((run["seconds"], run["floor_s"]))
        syncs.append(run["syncs"])
    # The target is the storm's: all durable within a second.
    return {"store": figure(f"{turns} turns until durable, beside as many bytes and syncs", "s",
                            costs, 1.0, judge="value", syncs=spread(syncs))}


def _recording(path, lines):
    """Deterministic: 20 cabinets of 3 probes, one message after the other each 100 ms."""
    chance = random.Random(20260301)
    topics = [f"farm/c{i}/{probe}/temperature" for i in range(20) for probe in ("top", "mid", "low")]
    values = [f"37.{chance.randrange(40, 60)}" for _ in range(997)]
    base = 1772352000  # 2026-03-01T08:00:00Z
    with open(path, "w") as out:
        for i in range(lines):
            if i % 600 == 0:
                minute = time.strftime("%Y-%m-%dT%H:%M:", time.gmtime(base + i // 10))
            second, tenth = divmod(i % 600, 10)
            value = "41.50" if i % 60_000 == 59_999 else values[i % 997]
            out.write(f'{{"tst":"{minute}{second:02}.{tenth}00000Z","topic":"{topics[i % 60]}",'
                      f'"payload":"{value}","retain":0}}\n')


def _run(command):
    """(seconds, peak resident bytes) of a program whose output nobody keeps."""
    start = time.monotonic()
    child = subprocess.Popen([str(each) for each in command], stdout=subprocess.DEVNULL)
    _, status, usage = os.wait4(child.pid, 0)
    seconds = time.monotonic() - start
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode != 0:
        raise RuntimeError(f"{command}: exit {child.returncode}")
    return seconds, usage.ru_maxrss * 1024


def replay(shop, pairs, quick):
    lines = 200_000 if quick else 1_800_000
    place = shop.place("replay")
    few, all_of_it = place / "few.jsonl", place / "all.jsonl"
    _recording(few, lines // 9)
    _recording(all_of_it, lines)
    config = place / "config.yaml"
    config.write_text(shop.config(20))
    command = [BUILD / "tools" / "clutchward", "replay", "--config", config]
    small = _run([*command, few])[1]
    costs, peaks = [], []
    for pair in range(pairs):
        say(f"replay: pair {pair + 1} of {pairs}")
        floor = _run(["jq", "-c", "empty", all_of_it])[0]
        seconds, peak = _run([*command, all_of_it])
        costs.append((seconds, floor))
        peaks.append(peak)
    # Constant memory: nine times the lines may not take a tenth more.
    constant = max(peaks) <= 1.1 * small
    scaled = 1.5 * lines / 1_800_000
    figures = {"replay": figure(f"replay of {lines} lines", "s", costs, round(scaled, 3),
                                judge="value", peak_bytes=spread(peaks), peak_bytes_ninth=small,
                                also=constant)}
    figures["replay_beside_jq"] = figure("times as fast as jq parses the same", "1/s",
                                         [(1 / value, 1 / floor) for value, floor in costs], 3,
                                         at_most=False)
    return figures
