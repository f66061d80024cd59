"""How well the early warnings do: lead before the limit, false warnings, two real logs. Nothing is
timed; the figures are those of the rules of config/clutchward.yaml in simulated time, the same on
every machine. NAB's logs are not part of the tree: CLUTCHWARD_NAB names the folder that holds them."""

import json
import os
import subprocess

from harness import BUILD, say


def _ask(*arguments):
    say("early: " + " ".join(map(str, arguments)))
    done = subprocess.run([str(BUILD / "tests" / "early" / "early_quality"), *map(str, arguments)],
                          stdout=subprocess.PIPE, check=True, timeout=3600)
    return json.loads(done.stdout)


def _judged(what, unit, value, target, met, **more):
    return {"what": what, "unit": unit, "value": value, "target": target, "met": met, **more}


def early(shop, pairs, quick):
    del shop, pairs  # nothing is measured by the clock
    faults = _ask("faults", 5 if quick else 50)["faults"]
    quiet = _ask("quiet", 4 if quick else 20, 7 if quick else 30)["quiet"]
    handled = _ask("quiet", 4 if quick else 20, 7 if quick else 30, 5)["quiet"]
    figures = {}
    for name, key in (("creep 0.5 C/h", "early_lead_creep"),
                      ("weak heater (20 % below need)", "early_lead_weak_heater")):
        lead = faults[name]["lead_median_min"]
        figures[key] = _judged(f"{name}: median lead before the limit", "min", lead, 15, lead >= 15)
    figures["early_lead_creep"]["all_faults"] = faults
    false = quiet["early_per_cabinet_and_21_days"]
    figures["early_false"] = _judged("false early warnings per cabinet and 21 quiet days", "", false,
                                     1, false <= 1, **quiet)
    rings = quiet["raised"]
    figures["early_quiet_month"] = _judged("alarms of any kind in a quiet month of 20 cabinets", "",
                                           rings, 5, rings < 5,
                                           with_a_door_open_5_min_a_day=handled)
    logs = _ask("nab", os.environ.get("CLUTCHWARD_NAB", "nowhere"))
    figures["early_nab"] = _judged("two real logs with labelled failures, one sample a minute", "",
                                   logs["nab"], None, True)
    return figures
