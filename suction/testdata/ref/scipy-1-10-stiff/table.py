#!/usr/bin/python3
"""Picks one moment of each set of want.json for the printed table of outside checks.

Run: /usr/bin/python3 table.py > table.toml     (Python 3.11; want.json comes from make.py)
"""
import json
import random

file = json.load(open("want.json"))
rng = random.Random(30)
print('''figure = "suction.Simulate/setup"
kind = "independent tool"
source = "SciPy 1.10.1, scipy.integrate.solve_ivp, method LSODA (Debian 12 package python3-scipy)"
locator = "make.py in this folder, rtol = atol = 1e-10; one random moment of each of 30 random parameter sets, suction at the wound in mmHg (all moments are compared in package suction's own tests)"
tolerance = "0.2 mmHg, the stated requirement; our steps are held to 1e-8"
''')
fine, step = file["fine_until_s"], file["step_s"]
first = round(fine / file["fine_step_s"])
for k, c in enumerate(file["cases"]):
    i = rng.randrange(first, len(c["wound_mmHg"]))
    t = fine + (i - first) * step
    print("[[row]]\nname = \"set %d at %g s\"" % (k, t))
    print("in = { t_s = %.1f, setup = '%s' }" % (t, json.dumps(c["setup"], separators=(",", ":"))))
    print("want = %.4f\ntol = 0.2\n" % c["wound_mmHg"][i])
