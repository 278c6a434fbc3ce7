# /usr/bin/python3 make.py > want.json
# The posterior of content and log level after one reading, by brute summation over a grid of (content before, log
# mean output u, log level after). It shares no step with the program: no conditioning, no quadrature.
import json
import numpy as np


def share(d):
    return 1 - d / 3 if d <= 1 else (d - 1 / 3) / d**2


def grid(v, x, varV, cov, varX, q, s2, m, memory, d, y, R):
    e = 1 - np.exp(-d / memory)
    end = m * memory * e
    mean = m * memory * (1 - memory * e / d)
    gain = s2 * (1 - share(d)) / 2 + q * d / 12
    mu = np.array([v, x + mean, x + end])
    S = np.array([[varV, cov, cov],
                  [cov, varX + q * d / 3 + s2 * share(d), varX + q * d / 2],
                  [cov, varX + q * d / 2, varX + q * d]])
    n = 201
    L = np.linalg.cholesky(S)
    z = np.linspace(-7, 7, n)
    a, b, c = np.meshgrid(z, z, z, indexing="ij")
    lp = -0.5 * (a * a + b * b + c * c)
    V0 = mu[0] + L[0, 0] * a
    u = mu[1] + L[1, 0] * a + L[1, 1] * b
    x1 = mu[2] + L[2, 0] * a + L[2, 1] * b + L[2, 2] * c
    V1 = V0 + d * np.exp(u + gain)
    ll = -0.5 * (y - V1) ** 2 / R - 0.5 * np.log(2 * np.pi * R)
    w0 = np.exp(lp)
    w = np.exp(lp + ll - ll.max())
    ev = np.log(w.sum() / w0.sum()) + ll.max()
    w /= w.sum()
    mv, mx = (w * V1).sum(), (w * x1).sum()
    return dict(lnEvidence=ev, v=mv, x=mx, varV=(w * (V1 - mv) ** 2).sum(),
                covVX=(w * (V1 - mv) * (x1 - mx)).sum(), varX=(w * (x1 - mx) ** 2).sum())


cases = []
for name, args in {
    "first reading, wide prior": dict(v=0, x=3.66, varV=1, cov=0, varX=1.0, q=0.01, s2=0.01, m=-0.09, d=1.0, y=75, R=77),
    "half a day": dict(v=120, x=4.1, varV=60, cov=0.4, varX=0.05, q=0.0484, s2=0.1024, m=0.05, d=0.5, y=150, R=77),
    "three days, surprising": dict(v=50, x=3.9, varV=40, cov=-0.2, varX=0.02, q=0.01, s2=0.1024, m=-0.01, d=3.0, y=420, R=230),
    "nothing came": dict(v=100, x=3.2, varV=80, cov=0.1, varX=0.3, q=0.01, s2=0.1024, m=-0.01, d=1.0, y=100, R=230),
}.items():
    cases.append(dict(name=name, memory=7, **{k: args[k] for k in args}, want=grid(memory=7, **args)))
nodes, weights = np.polynomial.hermite_e.hermegauss(5)
print(json.dumps(dict(numpy=np.__version__, nodes=list(nodes), weights=list(weights / weights.sum()), cases=cases), indent=1))
