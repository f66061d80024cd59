"""Figures that pass through a real broker and the real daemon."""

import statistics

from harness import ask, figure, free_port, metric, percentile, program, say, Process


def _cost(shop, process, count, qos, kind):
    """(CPU microseconds a message, messages a second) of `process` in one flood."""
    shop.flood(min(count, 5000), qos, kind, timeout=30)  # topics seen, pages touched
    before = process.cpu()
    seconds = shop.flood(count, qos, kind)
    return (process.cpu() - before) / count * 1e6, count / seconds


def ingest(shop, pairs, quick):
    kinds = {"ingest_qos0": (0, "plain", 1.25), "ingest_qos1": (1, "plain", 1.35),
             "ingest_json": (0, "json", 1.35)}
    figures = {}
    for name, (qos, kind, target) in kinds.items():
        count = (60_000 if quick else 400_000) // (2 if qos else 1)
        cpu, rate, between = [], [], []
        for pair in range(pairs):
            say(f"{name}: pair {pair + 1} of {pairs}")
            with shop.floor("subscriber", "count") as process:
                floor = _cost(shop, process, count, qos, kind)
            with shop.hand_over() as process:
                between.append(_cost(shop, process, count, qos, kind)[0])
            page = free_port()
            with shop.daemon(shop.config(20, page=page)) as process:
                value = _cost(shop, process, count, qos, kind)
                taken = metric(page, "clutchward_readings_total")
                if taken < count:
                    raise RuntimeError(f"{name}: only {taken} of {count} readings were taken")
            cpu.append((value[0], floor[0]))
            rate.append((value[1], floor[1]))
        figures[name] = figure(f"CPU a message, QoS {qos}, {kind} payloads, everything on",
                               "us CPU", cpu, target,
                               hand_over_alone=round(sorted(between)[len(between) // 2], 3))
        if name == "ingest_qos0":
            figures["ingest_rate_qos0"] = figure("messages a second, QoS 0", "1/s", rate, 0.9,
                                                 at_most=False)
    return figures


def memory(shop, pairs, quick):
    many = 1_010 if quick else 5_010
    base, each = [], []
    for pair in range(pairs):
        say(f"memory: pair {pair + 1} of {pairs}")
        with Process([program("libraries"), free_port()], shop.folder / "libraries.log") as process:
            process.child.stdout.readline()
            floor = process.resident()
        sizes = []
        for cabinets in (10, many):
            with shop.daemon(shop.config(cabinets, page=free_port())) as process:
                for _ in range(3):
                    shop.flood(cabinets * 3, cabinets=cabinets)
                if quick or cabinets < many:
                    shop.settle()
                else:
                    shop.rest()
                sizes.append(process.resident())
        base.append((sizes[0], floor))
        # The floor of a further cabinet is what its least description takes: 3 probes of 32 bytes,
        # 3 topics of 24, a batch and two names of 16.
        each.append(((sizes[1] - sizes[0]) / (many - 10), 3 * 32 + 3 * 24 + 48))
    return {"memory": figure("resident with 10 cabinets, beside the same libraries at rest", "bytes",
                             base, 1.25),
            "memory_per_cabinet": figure(f"resident, a further cabinet up to {many}", "bytes", each,
                                         1500, judge="value")}


# More for one contact in ten minutes would be a flood, whose messages wait for one another.
ALONE = 10


def latency(shop, pairs, quick):
    rounds = 10 if quick else 30
    p99, p50, firsts = [], [], []
    for pair in range(pairs):
        say(f"latency: pair {pair + 1} of {pairs}")
        hook, ours, floors = free_port(), [], []
        for _ in range(rounds):
            with shop.floor("subscriber", "webhook", f"http://127.0.0.1:{hook}/alert"):
                floors += ask("alarms", "latency", shop.port, hook, ALONE)["ms"][1:]
            with shop.daemon(shop.config(ALONE, hook=hook, page=free_port())):
                first, *others = ask("alarms", "latency", shop.port, hook, ALONE)["ms"]
            firsts.append(first)  # with what is made once: connections, random numbers, keys
            ours += others
        p99.append((percentile(ours, 0.99), percentile(floors, 0.99)))
        p50.append(statistics.median(ours) - statistics.median(floors))
    return {"latency": figure(f"publish to webhook, 99th percentile of {len(ours)} alarms, each after "
                              "the first of its site", "ms", p99, 3, judge="difference",
                              median_difference_ms=round(statistics.median(p50), 3),
                              first_ms=round(statistics.median(firsts), 3))}


MILD = """gather: 1s
rules:
  mild: { kind: above, offset: 1.0, delay: 0s, latch: false, priority: low }
  warm: off
  hot: off"""


def storm(shop, pairs, quick):
    count = 200 if quick else 1_000
    durable, high_first, told = [], True, []
    for pair in range(pairs):
        say(f"storm: pair {pair + 1} of {pairs}")
        hook = free_port()
        with shop.floor("subscriber", "append"):
            floor = ask("alarms", "storm-floor", shop.port, hook, count)
        with shop.daemon(shop.config(count, hook=hook, page=free_port(), extra=MILD)):
            shop.flood(count * 3, cabinets=count)
            value = ask("alarms", "storm", shop.port, hook, count)
        durable.append((value["durable_s"], floor["durable_s"]))
        high_first = high_first and value["high_first"]
        told.append(value["high_told_s"])
    return {"storm": figure(f"{count} alarms at once: last publish to the last durable event", "s",
                            durable, 1.0, judge="value", high_first=high_first, also=high_first,
                            all_high_told_s=round(sorted(told)[len(told) // 2], 3))}
