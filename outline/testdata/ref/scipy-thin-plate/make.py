# /usr/bin/python3 make.py > want.json      SciPy 1.10.1, Shapely 1.8.5 (Debian 12)
#
# Thin plates through the same places by SciPy: depths at other places, and the volume over the polygon by summing
# SciPy's depths on a grid of its own (0.02 cm).
import json, math, random
import numpy as np
from shapely.geometry import Point, Polygon
from shapely.prepared import prep
from scipy.interpolate import RBFInterpolator

rnd = random.Random(3)
out = []
for i in range(4):
    n = 72
    # an ellipse walked at equal angles; the test walks the same points
    a, b = rnd.uniform(1, 5), rnd.uniform(1, 4)
    edge = [[a * math.cos(2 * math.pi * k / n), b * math.sin(2 * math.pi * k / n)] for k in range(n)]
    clicks = []
    for _ in range([1, 2, 5, 9][i]):
        r, t = 0.8 * math.sqrt(rnd.random()), rnd.uniform(0, 6.28)
        clicks.append([a * r * math.cos(t), b * r * math.sin(t), round(rnd.uniform(0.3, 2.5), 2)])
    at = np.array(edge + [c[:2] for c in clicks])
    z = np.array([0.0] * n + [c[2] for c in clicks])
    f = RBFInterpolator(at, z, kernel="thin_plate_spline", degree=1)
    ask = [[a * r * math.cos(t), b * r * math.sin(t)] for r, t in [(0.1, 0.3), (0.5, 2.0), (0.7, 4.0), (0.9, 5.5)]]
    h = 0.02
    x, y = np.meshgrid(np.arange(-a + h / 2, a, h), np.arange(-b + h / 2, b, h))
    poly = prep(Polygon(edge))
    p = np.column_stack([x.ravel(), y.ravel()])
    p = p[[poly.contains(Point(q)) for q in p]]
    v = float(np.maximum(f(p), 0).sum() * h * h)
    out.append({"edge": edge, "clicks": clicks, "ask": ask, "want": f(np.array(ask)).tolist(), "volume": v})
print(json.dumps(out))
