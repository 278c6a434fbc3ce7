#!/usr/bin/python3
"""Solves the pressure path with SciPy for 30 random parameter sets and prints the traces as JSON.

Run: /usr/bin/python3 make.py > want.json     (Debian 12, python3-scipy 1.10.1, python3-numpy 1.24)
Written from docs/model/suction.md alone, equations as numbered there: no leak rounding, three integrations of the
same right-hand side by LSODA with rtol 1e-10 and atol 1e-10, events located by the solver (xtol 4 eps).
With --time FILE it instead times one setup at tolerance 1e-8 and prints seconds.
"""
import json
import math
import sys
import time

import numpy as np
from scipy.integrate import solve_ivp

MMHG = 133.322387415
G0, RHO = 9.80665, 1020.0


def ambient(h):  # (1)
    return 101325.0 * (1 - 0.0065 * h / 288.15) ** (9.80665 / (0.0065 * 287.05287)) / MMHG


class Path:
    def __init__(self, q):
        pump, tube = q["pump"], q["tube"]
        self.pa = ambient(q["altitude_m"])
        d, length = tube["bore_mm"] / 1000, tube["length_m"]
        vt = math.pi * d * d / 4 * length * 1e6
        self.vc = q["canister_mL"] - q["fluid_mL"] + vt / 2  # (3)
        self.vw = q["void_mL"] + vt / 2
        t = 293.15
        mu = 1.458e-6 * t**1.5 / (t + 110.4)
        self.g = math.pi * d**4 / (128 * mu * length) * 1e6 * MMHG  # (6)
        self.head = RHO * G0 * q["height_m"] * q["liquid_share"] / MMHG  # (8)
        self.qf, self.sd = pump["free_flow_mL_min"] / 60, min(pump["deepest_mmHg"], self.pa)
        self.kv = pump["vent_mL_min_mmHg"] / 60
        self.b = pump["band_mmHg"]
        self.side = 1 if pump["sensor"] == "wound" else 0
        self.ql = q["leak_mL_min"] / 60
        self.sr, self.n = q["leak_at_mmHg"], q["leak_exponent"]

    def f(self, s, on, vent):
        sc, sw = s
        pw, pc = self.pa - sw, self.pa - sc + self.head
        qt = self.g * (pw * pw - pc * pc) / (2 * self.pa)
        ql = math.copysign(self.ql * (abs(sw) / self.sr) ** self.n, sw) if sw else 0.0
        out = -qt
        if on:
            out += self.qf * max(0.0, 1 - sc / self.sd)  # (5)
        if vent:
            out -= self.kv * sc
        return [self.pa / self.vc * out, self.pa / self.vw * (qt - ql)]  # (2)


def run(q, grid, tol=1e-10, method="LSODA"):
    """Returns the suctions at the grid's times and the number of switches."""
    p = Path(q)
    end = q["hours"] * 3600
    s, on, vent, t, switches = [0.0, 0.0], False, False, 0.0, 0
    out = np.full((len(grid), 2), np.nan)
    pieces, t0, cycle = [], 0.0, 0
    while t0 < end - 1e-9:
        for i, st in enumerate(q["stages"]):
            prev = q["stages"][i - 1]["suction_mmHg"] if (i or cycle) else 0.0
            ramp, hold = st.get("ramp_min", 0) * 60, st["hold_min"] * 60
            if ramp:
                pieces.append((t0, t0 + ramp, prev, (st["suction_mmHg"] - prev) / ramp))
            pieces.append((t0 + ramp, t0 + ramp + hold, st["suction_mmHg"], 0.0))
            t0 += ramp + hold
        cycle += 1
    for a, z, order0, slope in pieces:
        z = min(z, end)
        if a >= end:
            break
        order = lambda t: order0 + slope * (t - a)
        up = lambda t: order(t) + p.b / 2
        down = lambda t: order(t) - p.b / 2  # (10)
        rest = order0 == 0 and slope == 0
        t = a
        x = s[p.side]
        if not rest and x <= down(t):  # (10a, 10d)
            on, vent = True, False
        elif rest or x >= up(t):
            on = False
        if not on:
            if vent and x <= order(t):
                vent = False
            if p.kv > 0 and x > up(t):
                vent = True
        while t < z:
            events = []
            if on:
                events = [lambda t, y: y[p.side] - up(t)]
            elif vent:
                events = [lambda t, y: order(t) - y[p.side]]
            else:
                if not rest:
                    events.append(lambda t, y: down(t) - y[p.side])
                if p.kv > 0:
                    events.append(lambda t, y: y[p.side] - up(t))
            for e in events:
                e.terminal, e.direction = True, 1
            sol = solve_ivp(lambda t, y: p.f(y, on, vent), (t, z), s, method=method, rtol=tol, atol=tol,
                            events=events or None, dense_output=True)
            stop = sol.t[-1]
            pick = (grid >= t) & ((grid < stop) | ((stop >= end) & (grid <= stop)))
            if pick.any():
                out[pick] = sol.sol(grid[pick]).T
            s, t = list(sol.y[:, -1]), stop
            if sol.status == 1:
                switches += 1
                which = [k for k, te in enumerate(sol.t_events) if len(te)][0]
                if on:
                    on = False
                    if p.kv > 0 and p.f(s, False, False)[p.side] > slope:  # (10c): on the edge and rising
                        vent = True
                elif vent:
                    vent = False
                elif not rest and which == 0:
                    on = True
                else:
                    vent = True
    return out, switches


def draw(rng, k):
    """A parameter set. The first ones make sure that every kind is there."""
    u = lambda a, b, digits: round(float(rng.uniform(a, b)), digits)
    kinds = int(rng.integers(1, 4))
    stages = []
    for _ in range(kinds):
        st = {"suction_mmHg": float(rng.integers(20, 180)), "hold_min": u(0.6, 2.5, 2)}
        if rng.random() < 0.25:
            st["ramp_min"] = u(0.2, 1, 2)
        stages.append(st)
    if kinds > 1 and rng.random() < 0.3:
        stages[-1]["suction_mmHg"] = 0.0
    canister = float(rng.choice([150, 300, 400, 800]))
    fluid = round(canister * float(rng.uniform(0, 0.95)), 1)
    q = {
        "stages": stages, "hours": 0.1, "class": "portable", "canister_mL": canister, "fluid_mL": fluid,
        "void_mL": u(5, 150, 1), "leak_mL_min": round(float(10 ** rng.uniform(0, 3)), 2), "leak_at_mmHg": float(rng.choice([80, 100, 125])),
        "leak_exponent": u(0.5, 1, 2),
        "pump": {"free_flow_mL_min": float(rng.integers(800, 6000)), "deepest_mmHg": float(rng.integers(190, 300)),
                 "band_mmHg": u(1, 8, 1), "sensor": "wound" if rng.random() < 0.4 else "canister",
                 "vent_mL_min_mmHg": u(0.2, 8, 2) if rng.random() < 0.4 else 0.0},
        "tube": {"length_m": u(0.5, 3, 2), "bore_mm": u(1.5, 6, 1)},
        "height_m": u(-1, 1, 2) if rng.random() < 0.5 else 0.0, "liquid_share": 0.0, "altitude_m": 0.0,
    }
    if q["height_m"]:
        q["liquid_share"] = u(0, 0.6, 2)
    if rng.random() < 0.4:
        q["altitude_m"] = float(rng.integers(0, 3500))
    if k == 0:
        q["leak_exponent"] = 0.5
    if k == 1:
        q["leak_exponent"] = 1.0
    if k == 2:
        q["void_mL"] = 1.0
    if k == 3:
        q["fluid_mL"] = q["canister_mL"] - 1
    if k == 4:
        q["leak_mL_min"] = q["pump"]["free_flow_mL_min"]
    if k == 5:
        q["tube"]["bore_mm"] = 1.0
    return q


def main():
    if sys.argv[1:2] == ["--time"]:
        q = json.load(open(sys.argv[2]))
        grid = np.arange(0, q["hours"] * 3600 + 0.5, 1.0)
        t = time.perf_counter()
        _, switches = run(q, grid, tol=1e-8)
        print(json.dumps({"seconds": time.perf_counter() - t, "switches": switches}))
        return
    rng = np.random.default_rng(20260101)
    cases = []
    for k in range(30):
        q = draw(rng, k)
        grid = np.concatenate([np.arange(0, 10, 0.1), np.arange(10, q["hours"] * 3600 + 0.5, 1.0)])
        got, switches = run(q, grid)
        assert not np.isnan(got).any(), k
        cases.append({"setup": q, "switches": switches, "pump_mmHg": [round(x, 4) for x in got[:, 0].tolist()],
                      "wound_mmHg": [round(x, 4) for x in got[:, 1].tolist()]})
        print(k, switches, file=sys.stderr)
    json.dump({"fine_until_s": 10, "fine_step_s": 0.1, "step_s": 1, "cases": cases}, sys.stdout, separators=(",", ":"))
    print()


main()
