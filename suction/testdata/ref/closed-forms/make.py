#!/usr/bin/python3
"""Prints table.toml: closed forms of one gas volume, by hand-derived formulas and the standard library only.

Run: /usr/bin/python3 make.py > table.toml     (Python 3.11)
"""
from math import exp, log, sqrt

PA = 101325 / 133.322387415
print('''figure = "suction.Simulate/wound"
kind = "closed form"
source = "Exact solutions of V ds/dt = p_a (Q_p - Q_l) for one gas volume"
locator = "make.py in this folder: each formula stands beside its rows"
tolerance = "1e-5 of the value: the two volumes are joined by a tube that loses less than 1e-6 mmHg, and the solver is asked for 1e-8 a step"
''')


def row(name, want, figure=None, **given):
    print("[[row]]\nname = \"%s\"" % name)
    if figure:
        print('figure = "%s"' % figure)
    print("in = { " + ", ".join("%s = %r" % kv for kv in given.items()) + " }")
    print("want = %.9f\ntol = %.2e\n" % (want, 1e-5 * want))


V = 380.0
# Linear leak: s = s0 exp(-p_a (Q_r/s_r) t / V)
for leak, t in ((10, 60), (10, 600), (50, 60)):
    row("linear leak %g mL/min after %g s" % (leak, t), 125 * exp(-PA * leak / 60 / 125 * t / V),
        volume_mL=V, start_mmHg=125.0, leak_mL_min=leak, leak_at_mmHg=125.0, leak_exponent=1.0, t_s=float(t))
# Orifice: sqrt(s) = sqrt(s0) - p_a Q_r / sqrt(s_r) t / (2 V)
for leak, t in ((10, 60), (10, 500), (50, 60)):
    row("orifice %g mL/min after %g s" % (leak, t), (sqrt(125) - PA * leak / 60 / sqrt(125) * t / 2 / V) ** 2,
        volume_mL=V, start_mmHg=125.0, leak_mL_min=leak, leak_at_mmHg=125.0, leak_exponent=0.5, t_s=float(t))
# Exponent n: s^(1-n) = s0^(1-n) - (1-n) p_a Q_r/s_r^n t / V
n = 0.75
row("exponent 0.75, 20 mL/min after 200 s", (125 ** (1 - n) - (1 - n) * PA * 20 / 60 / 125**n * 200 / V) ** (1 / (1 - n)),
    volume_mL=V, start_mmHg=125.0, leak_mL_min=20, leak_at_mmHg=125.0, leak_exponent=n, t_s=200.0)
# Constant displacement: t = (V/S) ln(p_a/p); a linear pump whose deepest suction is p_a.
for vol, speed, to in ((400.0, 1000.0, 125.0), (400.0, 1000.0, 200.0), (100.0, 3000.0, 80.0)):
    row("constant displacement %g mL at %g mL/min to %g mmHg" % (vol, speed, to), vol / speed * 60 * log(PA / (PA - to)),
        "suction.Simulate/time_to_reach", volume_mL=vol, free_flow_mL_min=speed, deepest_mmHg=760.0, order_mmHg=to)
# Linear pump: t = V s_d/(p_a Q_f) ln(s_d/(s_d - s))
for to in (50.0, 125.0, 200.0):
    row("linear pump 2 L/min, 220 mmHg, to %g mmHg" % to, V * 220 / (PA * 2000 / 60) * log(220 / (220 - to)),
        "suction.Simulate/time_to_reach", volume_mL=V, free_flow_mL_min=2000.0, deepest_mmHg=220.0, order_mmHg=to)
# Hold tests turned round: Q_r from two readings.
row("hold test 125 to 100 in 120 s, linear", V / PA / 120 * 125 * log(125 / 100) * 60, "suction.SealFromHold",
    volume_mL=V, leak_at_mmHg=125.0, leak_exponent=1.0, first_mmHg=125.0, second_mmHg=100.0, t_s=120.0)
row("hold test 125 to 100 in 120 s, orifice", V / PA / 120 * sqrt(125) * 2 * (sqrt(125) - sqrt(100)) * 60, "suction.SealFromHold",
    volume_mL=V, leak_at_mmHg=125.0, leak_exponent=0.5, first_mmHg=125.0, second_mmHg=100.0, t_s=120.0)
