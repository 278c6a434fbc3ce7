# /usr/bin/python3 make.py > table.toml      (SciPy 1.10.1)
# Quantiles of mixtures of log-normals by Brent's root finder on SciPy's own distribution function.
import numpy as np
from scipy.optimize import brentq
from scipy.stats import norm

print('''figure = "fluid.Mixture.Quantile"
kind = "independent tool"
source = "SciPy 1.10.1, scipy.stats.norm and scipy.optimize.brentq"
locator = "make.py beside this table"
tolerance = "the solver stops within 5e-4 on the probit scale: in y that is 5e-4 × the normal density at p over the mixture's density there"
''')
cases = [
    ([0.5, 0.5], [4.0, 4.0], [0.2, 0.9]),
    ([0.9, 0.1], [4.0, 5.5], [0.15, 0.3]),
    ([0.3, 0.3, 0.4], [2.0, 3.0, 3.2], [0.5, 0.1, 0.8]),
]
for w, m, s in cases:
    for p in (0.1, 0.5, 0.9):
        y = brentq(lambda y: np.dot(w, norm.cdf((y - np.array(m)) / s)) - p, -20, 30, xtol=1e-14)
        v = np.exp(y)
        slope = np.dot(w, norm.pdf((y - np.array(m)) / s) / s)
        tol = v * 5e-4 * norm.pdf(norm.ppf(p)) / slope
        print(f'''[[row]]
name = "weights {w}, means {m}, sds {s}, at {p}"
in = {{ p = {p}, weight = {w}, mean = {m}, sd = {s} }}
want = {v:.8f}
tol = {tol:.8f}
''')
