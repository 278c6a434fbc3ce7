# /usr/bin/python3 make.py > table.toml      uncertainties 3.1.6 (Debian 12: python3-uncertainties)
#
# Sums of the areas of lines on photos. Each standard error is a deviation of its own variable; lines share a variable
# where the assumption says that they share the error: the printed size all of them, tilt those of one photo, the line
# nobody. The library keeps track of the correlations.
import random
from uncertainties import ufloat

rnd = random.Random(4)
print('''figure = "outline.Add"
kind = "independent tool"
source = "uncertainties 3.1.6 (Debian 12), linear propagation with correlations as in JCGM 100:2008, 5.2.2, eq. 13"
locator = "make.py beside the table"
tolerance = "double precision of two sums in another order"''')
for k in range(12):
    n = rnd.randint(1, 6)
    photo = [rnd.randint(1, 3) for _ in range(n)]
    area = [round(rnd.uniform(0.5, 60), 3) for _ in range(n)]
    size = [round(a * rnd.uniform(0, 0.01), 5) for a in area]
    tilt = [round(a * rnd.uniform(0, 0.04), 5) for a in area]
    line = [round(a * rnd.uniform(0, 0.05), 5) for a in area]
    printed, tilts = ufloat(0, 1), {p: ufloat(0, 1) for p in photo}
    total = sum(area[i] + size[i] * printed + tilt[i] * tilts[photo[i]] + line[i] * ufloat(0, 1) for i in range(n))
    print('[[row]]\nname = "%d lines on %d photos"' % (n, len(set(photo))))
    print('in = { area_cm2 = %s, photo = %s, print_size = %s, tilt = %s, line = %s }' % (area, photo, size, tilt, line))
    print('want = %.17g\ntol = 1e-12' % total.std_dev)
