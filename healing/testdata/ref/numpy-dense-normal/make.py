# /usr/bin/python3 make.py      (NumPy 1.24, SciPy 1.10)
# One node of the quadrature computed without a filter: the sizes at the visits, the size ahead, the size two weeks
# before the last visit and that at the first are one normal vector; its covariance is written down from the
# covariance function of the integrated drift by numerical integration, and conditioned by dense algebra.
import json, pathlib
import numpy as np
from scipy import integrate
from scipy.stats import multivariate_normal

here = pathlib.Path(__file__).parent

def drift_cov(s, t, sigma, T):
    """covariance of the integrals of an Ornstein-Uhlenbeck rate from 0 to s and from 0 to t"""
    f = lambda v, u: sigma**2 * np.exp(-abs(u - v) / T)
    lo, hi = min(s, t), max(s, t)
    if lo == 0:
        return 0.0
    a, _ = integrate.dblquad(lambda v, u: sigma**2 * np.exp(-(u - v) / T), 0, lo, 0, lambda u: u, epsabs=1e-13, epsrel=1e-12)
    b, _ = integrate.dblquad(f, 0, lo, lo, hi, epsabs=1e-13, epsrel=1e-12)  # outer u in 0..lo, inner v in lo..hi
    return 2 * a + b

cases = []
for c in [
    dict(name="outline, steady", t=[0, 1, 2, 3.5, 5], z=[3.03, 2.95, 2.80, 2.71, 2.49], cv=[.05, .05, .06, .05, .04], ruler=[0, 0, 0, 0, 0], sigma=.05, T=3., rate=.07, rate_sd=.06, noise=1.2, ahead=4.),
    dict(name="mixed methods", t=[0, 1.1, 2, 3, 4.2, 6], z=[2.2, 2.4, 2.1, 1.9, 2.05, 1.6], cv=[.05, .10, .05, .06, .11, .05], ruler=[0, 1, 0, 0, 1, 0], sigma=.12, T=10., rate=.20, rate_sd=.14, noise=.75, ahead=2.),
    dict(name="hardly any drift", t=[0, 2, 4], z=[1.0, 1.02, .93], cv=[.08, .08, .08], ruler=[0, 0, 0], sigma=.012, T=6., rate=0., rate_sd=.03, noise=2.2, ahead=4.),
]:
    t, z = np.array(c["t"]), np.array(c["z"])
    pts = np.concatenate([t, [t[-1] + c["ahead"], t[-1] - 2.0, 0.0]])
    n, m = len(t), len(pts)
    C = np.ones((m, m)) + c["rate_sd"]**2 * np.outer(pts, pts)   # first size has deviation 1 around the first reading
    for i in range(m):
        for j in range(m):
            C[i, j] += drift_cov(pts[i], pts[j], c["sigma"], c["T"])
    mean = z[0] - c["rate"] * pts
    H = np.array(c["ruler"], float)
    S = C[:n, :n] + 0.08**2 * np.outer(H, H) + np.diag((np.array(c["cv"]) * c["noise"])**2)
    K = C[n:, :n] @ np.linalg.inv(S)
    post = mean[n:] + K @ (z - mean[:n])
    cov = C[n:, n:] - K @ C[:n, n:]
    c.update(loglik=multivariate_normal(mean[:n], S).logpdf(z), ahead_mean=post[0], ahead_sd=cov[0, 0]**.5,
             ref_mean=post[1], ref_sd=cov[1, 1]**.5, start_mean=post[2], start_sd=cov[2, 2]**.5, start_ahead_cov=cov[0, 2])
    cases.append(c)
(here / "want.json").write_text(json.dumps(cases, indent=1) + "\n")
