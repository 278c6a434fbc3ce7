# /usr/bin/python3 make.py > table.toml     (Python 3.11 or later, SciPy 1.10.1)
# Quantiles of the negative binomial and the normal law, which the intervals and the safety stock rest on, and the mean
# and variance of the negative binomial. (8, 0.5) is left out: its probability of 7 or fewer is exactly one half, a tie
# that rounding decides.
from scipy import stats
print('''figure = "supply.NegBin.Quantile"
kind = "independent tool"
source = "SciPy 1.10.1, scipy.stats.nbinom and scipy.stats.norm"
locator = "make.py beside this table"
tolerance = "quantiles of whole numbers are exact; others: 1e-9, far above rounding and far below what a page prints"
''')
for r, p in [(1, 20/27), (1, 20/34), (3, 55/62), (8, 0.45), (2.5, 0.2), (1, 0.999)]:
    for q in [0.1, 0.5, 0.9, 0.99]:
        print(f'[[row]]\nname = "nbinom({r}, {p:.6f}) at {q}"\nin = {{ r = {float(r)}, p = {p!r}, q = {q} }}\nwant = {float(stats.nbinom.ppf(q, r, p))}\ntol = 0.0\n')
    print(f'[[row]]\nname = "nbinom({r}, {p:.6f}): probability of 2 or fewer"\nfigure = "supply.NegBin.CDF"\nin = {{ r = {float(r)}, p = {p!r}, n = 2 }}\nwant = {stats.nbinom.cdf(2, r, p)!r}\ntol = 1e-9\n')
    print(f'[[row]]\nname = "nbinom({r}, {p:.6f}): variance"\nfigure = "supply.NegBin.Variance"\nin = {{ r = {float(r)}, p = {p!r} }}\nwant = {float(stats.nbinom.var(r, p))!r}\ntol = 1e-9\n')
for q in [0.5, 0.8, 0.9, 0.95, 0.975, 0.99, 0.999]:
    print(f'[[row]]\nname = "normal quantile at {q}"\nfigure = "supply.Z"\nin = {{ p = {q} }}\nwant = {float(stats.norm.ppf(q))!r}\ntol = 1e-9\n')
for d, v, l, sl, s in [(15, 25, 2, 0, .9), (2.4, 3.1, 3, 1.5, .95), (0.7, 0.7, 10, 4, .98)]:
    w = d*l + stats.norm.ppf(s)*(l*v + d*d*sl*sl)**.5
    print(f'[[row]]\nname = "reorder point, {d} a day, variance {v}, lead time {l} ± {sl} days, service {s}"\nfigure = "supply.ReorderPoint"\nin = {{ d = {float(d)}, v = {float(v)}, l = {float(l)}, sl = {float(sl)}, s = {s} }}\nwant = {float(w)!r}\ntol = 1e-9\n')
