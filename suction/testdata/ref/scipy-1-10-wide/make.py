#!/usr/bin/python3
"""Solves the pressure path with SciPy for 10 parameter sets far wider than those beside it and prints them as JSON.

Run: /usr/bin/python3 make.py > want.json     (Debian 12, python3-scipy 1.10.1, python3-numpy 1.24)
Written from docs/model/suction.md alone, independently of ../scipy-1-10-stiff/make.py: an event loop of its own
over the steps of LSODA (rtol = atol = 1e-9; Radau while nothing is ordered), switches found on each step's
continuous extension. Near no suction the leak is a straight line below 0.001 mmHg, not the rounding of eq. 7.
Every field of the input is varied or left out: stages up to 20, rests, ramps, vent, both sensors, exponents 0.5 to 1,
leaks from none to ten times the pump, voids 1 to 500 mL, canisters full to half a millilitre, pump 1.5 m above to
1.5 m below, altitude to 5000 m, bores 1 to 8 mm, tubes to 10 m, bands from 0.2 mmHg, a deepest suction above the order.
A set whose pump switches more than 50 times is shortened, never left out.
"""
import json
import math
import random

import numpy as np
from scipy.integrate import LSODA, Radau
from scipy.optimize import brentq

MMHG, G0 = 133.322387415, 9.80665
T_AIR = 293.15
MU = 1.458e-6 * T_AIR**1.5 / (T_AIR + 110.4)
CLASSES = {"portable": (400, 1.5, 4, 2000, 220), "bedside": (800, 2, 5, 6000, 250)}
MOST, SETS, TIMES = 50, 10, 60


class TooMany(Exception):
    def __init__(self, t):
        super().__init__()
        self.t = t


def constants(p):
    canister, length, bore, free, deep = CLASSES[p.get("class", "portable")]
    pump, tube = p.get("pump", {}), p.get("tube", {})
    q = {"pa": 101325 * (1 - 0.0065 * p.get("altitude_m", 0) / 288.15) ** (G0 / (0.0065 * 287.05287)) / MMHG}  # (1)
    length, d = tube.get("length_m", length), tube.get("bore_mm", bore) * 1e-3
    vt = math.pi * d * d * length / 4 * 1e6  # (3)
    q["vc"] = max(0.01, p.get("canister_mL", canister) - p.get("fluid_mL", 0) + vt / 2)
    q["vw"] = max(0.01, p.get("void_mL", 60) + vt / 2)
    q["qf"] = pump.get("free_flow_mL_min", free) / 60
    q["sd"] = min(pump.get("deepest_mmHg", deep), q["pa"])
    q["b"] = max(0.1, pump.get("band_mmHg", 3))
    q["k"] = 1 if pump.get("sensor", "canister") == "wound" else 0
    q["kv"] = pump.get("vent_mL_min_mmHg", 0) / 60
    q["qr"], q["sr"], q["n"] = p.get("leak_mL_min", 10) / 60, p.get("leak_at_mmHg", 125), p.get("leak_exponent", 1)
    q["head"] = 1020 * G0 * p.get("height_m", 0) * p.get("liquid_share", 0) / MMHG  # (8)
    q["g"] = math.pi * d**4 / (128 * MU * length) * 1e6 * MMHG  # (6), mL/s per mmHg
    return q


def pieces_of(stages, end):
    """Straight pieces of the ordered waveform: start, end, order at both ends, stage, its start."""
    out, t, before = [], 0.0, 0.0
    while t < end:
        for i, s in enumerate(stages):
            begin = t
            for length, a, z in ((s.get("ramp_min", 0) * 60, before, s["suction_mmHg"]), (s["hold_min"] * 60,) + 2 * (s["suction_mmHg"],)):
                if length > 0 and t < end:
                    stop = min(t + length, end)
                    out.append((t, stop, a, a + (z - a) * (stop - t) / length, i, begin))
                t += length
            before = s["suction_mmHg"]
    return out


def solve(p, grid, tol=1e-9):
    q = constants(p)
    pa, vc, vw, head, g, k, b = q["pa"], q["vc"], q["vw"], q["head"], q["g"], q["k"], q["b"]
    end = p.get("hours", 2) * 3600

    def leak(s):  # (7)
        if abs(s) < 1e-3:
            return q["qr"] * s / 1e-3 * (1e-3 / q["sr"]) ** q["n"]
        return math.copysign(q["qr"] * (abs(s) / q["sr"]) ** q["n"], s)

    def rates(on, vent):  # (2), with the integral of the wound's suction
        def f(_, y):
            sc, sw = y[0], y[1]
            qt = g * ((pa - sw) ** 2 - (pa - sc + head) ** 2) / (2 * pa)
            out = (q["qf"] * max(0.0, 1 - sc / q["sd"]) if on else 0.0) - (q["kv"] * sc if vent else 0.0)
            return [pa * (out - qt) / vc, pa * (qt - leak(sw)) / vw, sw]
        return f

    y, on, vent = np.zeros(3), False, False
    trace, at, ran, starts, switches = np.zeros((len(grid), 2)), 0, 0.0, 0, 0
    first = [None] * len(p["stages"])
    seen = {}  # (stage, start) -> reached
    for a, z, order_a, order_z, stage, begin in pieces_of(p["stages"], end):
        order = lambda t: order_a + (order_z - order_a) * (t - a) / (z - a)
        rest = order_a == 0 and order_z == 0  # (10b)
        goal = p["stages"][stage]["suction_mmHg"]
        seen.setdefault((stage, begin), False)
        s, was = y[k], on
        if rest:
            on = False
        elif s <= order_a - b / 2:
            on = True
        elif s >= order_a + b / 2:
            on = False
        starts += on and not was
        vent = not on and ((q["kv"] > 0 and s > order_a + b / 2) or (vent and s > order_a))  # (10a, 10c)
        t = a
        while t < z - 1e-12:
            events = []
            if on:
                events = [("stop", lambda t, y: y[k] - order(t) - b / 2)]
            else:
                if not rest:
                    events.append(("start", lambda t, y: order(t) - b / 2 - y[k]))
                if vent:
                    events.append(("close", lambda t, y: order(t) - y[k]))
                elif q["kv"] > 0:
                    events.append(("open", lambda t, y: y[k] - order(t) - b / 2))
            f = rates(on, vent)
            method = Radau if rest else LSODA  # near no suction LSODA can fall back to tiny steps
            solver, t0, event = method(f, t, y, z, rtol=tol, atol=tol), t, None
            while solver.status == "running" and event is None:
                solver.step()
                dense, u, v = solver.dense_output(), solver.t_old, solver.t
                for name, h in events:
                    lo, hi = h(u, y if u == t0 else dense(u)), h(v, solver.y)
                    if lo < 0 <= hi:
                        g = lambda x: h(x, dense(x))  # at v it can differ from hi in its last digits
                        when = brentq(g, u, v, xtol=1e-13, rtol=1e-14) if g(u) < 0 < g(v) else v
                        if event is None or when < event[1]:
                            event = (name, when)
                    elif u == t0 and name == "open" and lo >= -1e-9 and hi > lo:  # on the edge and rising
                        event = (name, u + 1e-9)
                stop = event[1] if event else v
                if not seen[(stage, begin)]:  # (11)
                    away = lambda x: abs(dense(x)[1] - goal) - b / 2
                    xs = np.linspace(u, stop, 5)
                    for i, x in enumerate(xs):
                        if away(x) <= 1e-9:
                            if i and away(xs[i - 1]) > 0 > away(x):
                                x = brentq(away, xs[i - 1], x)
                            seen[(stage, begin)] = True
                            if first[stage] is None:
                                first[stage] = x - begin
                            break
                while at < len(grid) and grid[at] < stop:
                    trace[at] = dense(max(grid[at], u))[:2]
                    at += 1
            last = event[1] if event else z
            ran += (last - t0) * on
            y = np.array(dense(last)) if event else solver.y.copy()
            t = last
            if event:
                switches += 1
                if switches > MOST:
                    raise TooMany(t)
                on = event[0] == "start"
                vent = event[0] == "open"
                starts += on
    while at < len(grid):
        trace[at] = y[:2]
        at += 1
    reached = []
    for i, s in enumerate(p["stages"]):
        length = (s.get("ramp_min", 0) + s["hold_min"]) * 60
        mine = [(begin, ok) for (j, begin), ok in seen.items() if j == i]
        judged = [ok for begin, ok in mine if ok or begin + length <= end + 1e-9]
        reached.append(bool(judged) and all(judged))
    return {"pump_mmHg": trace[:, 0], "wound_mmHg": trace[:, 1], "mean_wound_mmHg": y[2] / end, "duty": ran / end,
            "starts_per_hour": starts / end * 3600, "reached": reached, "time_to_reach_s": first, "switches": switches}


def draw(r):
    even = r.uniform
    spread = lambda a, b: math.exp(r.uniform(math.log(a), math.log(b)))
    p = {"stages": []}
    for _ in range(r.choice([1, 1, 2, 2, 2, 3, 4, 8, 20])):
        s = {"suction_mmHg": round(r.choice([0, even(20, 220), even(40, 160), r.choice([50, 75, 80, 100, 125, 150, 200])]), r.choice([0, 2])),
             "hold_min": round(spread(0.05, 60), 3)}
        if r.random() < 0.3:
            s["ramp_min"] = round(spread(0.02, 5), 3)
        p["stages"].append(s)
    if all(s["suction_mmHg"] == 0 for s in p["stages"]):
        p["stages"][0]["suction_mmHg"] = 125
    if r.random() < 0.67:
        p["class"] = r.choice(["portable", "bedside"])
    p["hours"] = round(spread(0.05, 24), 3)
    may = lambda share: r.random() < share
    if may(0.75):
        p["canister_mL"] = round(spread(50, 1500))
    size = p.get("canister_mL", CLASSES[p.get("class", "portable")][0])
    if may(0.75):
        p["fluid_mL"] = r.choice([0, round(even(0, 0.9) * size), round(even(0, 0.9) * size), size - r.choice([0.5, 1, 2, 5])])
    if may(0.75):
        p["void_mL"] = round(spread(1, 500), 1)
    if may(0.85):
        p["leak_mL_min"] = r.choice([0, round(spread(2000, 20000))] + 6 * [round(spread(0.1, 1500), 2)])
    if may(0.75):
        p["leak_at_mmHg"] = round(even(50, 200))
    if may(0.75):
        p["leak_exponent"] = r.choice([0.5, 1, round(even(0.5, 1), 3)])
    if may(0.8):
        p["pump"] = {name: value for name, value in {
            "free_flow_mL_min": round(spread(200, 20000)), "deepest_mmHg": round(even(60, 300)),
            "band_mmHg": r.choice([3, round(spread(0.2, 20), 2), 1, 5, 10]), "sensor": r.choice(["canister", "wound"]),
            "vent_mL_min_mmHg": r.choice([0, round(spread(0.05, 20), 3)])}.items() if may(0.7)}
    if may(0.75):
        p["tube"] = {name: value for name, value in {"length_m": round(spread(0.2, 10), 2), "bore_mm": round(even(1, 8), 2)}.items() if may(0.8)}
    if may(0.6):
        p["height_m"] = round(even(-1.5, 1.5), 2)
    if may(0.6):
        p["liquid_share"] = round(r.choice([even(0, 1), 1, 0.2]), 2)
    if may(0.4):
        p["altitude_m"] = round(even(0, 5000))
    return p


def case(i):
    r = random.Random(20261125000 + i)
    p = draw(r)
    while True:
        end = p["hours"] * 3600
        step = max(0.05, round(end / 4000, 2))
        # Half of the moments fall into the first tenth, where most happens.
        grid = [step * j for j in sorted({int(r.uniform(0, end * (0.1 if j % 2 else 1)) / step) for j in range(TIMES)})]
        try:
            got = solve(p, np.array(grid))
            break
        except TooMany as e:
            p["hours"] = max(0.0003, math.floor(e.t / 3.6 * 10) / 1e4)
    fine = lambda xs: [None if x is None else round(float(x), 7) for x in xs]
    return {"setup": p, "step_s": step, "t_s": [round(t, 6) for t in grid], "pump_mmHg": fine(got["pump_mmHg"]),
            "wound_mmHg": fine(got["wound_mmHg"]), "mean_wound_mmHg": round(float(got["mean_wound_mmHg"]), 7),
            "duty": round(got["duty"], 9), "starts_per_hour": round(got["starts_per_hour"], 7), "reached": got["reached"],
            "time_to_reach_s": fine(got["time_to_reach_s"])}


if __name__ == "__main__":
    for i in range(SETS):
        print("[" if i == 0 else ",", json.dumps(case(i)), flush=True)
    print("]")
