# SciPy 1.10.1 (Debian python3-scipy). Run: /usr/bin/python3 make.py > table.toml
# Perimeter of an ellipse: 4 a E(m), m = 1 - (b/a)^2, complete elliptic integral of the second kind.
from scipy.special import ellipe
print('figure = "unit.EllipsePerimeter"\nkind = "independent tool"\nsource = "SciPy 1.10.1, scipy.special.ellipe"\nlocator = "4 a E(1 - (b/a)^2)"')
print('tolerance = "error bound of Ramanujan\'s second approximation: 5e-4 of the perimeter, 1e-6 where width is above a third of length"')
for L, W in [(4, 4), (5, 4), (6, 4), (5.1, 3.2), (8, 6), (10, 4), (12, 2), (10, 0.5)]:
    a, b = L / 2, W / 2
    p = 4 * a * ellipe(1 - (b / a) ** 2)
    tol = (1e-6 if W > L / 3 else 5e-4) * p
    print(f'[[row]]\nname = "{L} x {W} cm"\nin = {{ length_cm = {float(L)}, width_cm = {float(W)} }}\nwant = {p:.9f}\ntol = {tol:.9f}')
