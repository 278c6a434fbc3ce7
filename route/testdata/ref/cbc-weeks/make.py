#!/usr/bin/env python3
"""python3 make.py: draws small weeks, solves each as a mixed integer program with CBC (Debian package coinor-cbc 2.10.8),
and writes input.json and want.json. Arc variables x[i,j,s], start times t[i], one program a week; nothing of Lowtide is used."""
import json, math, random, subprocess, tempfile, os

MISS = 300
def draw(seed):
    r = random.Random(seed)
    n, people, days = 5 + seed % 4, 2, 2 + seed % 2
    places = n + people
    xy = [(r.randint(0, 40), r.randint(0, 40)) for _ in range(places)]
    times = [[round(math.hypot(a[0]-b[0], a[1]-b[1]), 3) for b in xy] for a in xy]
    shifts = [dict(kind=d, day=d, person=w, base=n + w, open=480, close=480 + r.choice([150, 200, 260])) for d in range(days) for w in range(people)]
    stops, gaps = [], []
    for i in range(n):
        windows = []
        for d in range(days):
            o = r.randint(470, 600)
            windows.append([o, o + r.randint(30, 160)] if r.random() < 0.8 else [1, 0])
        cost = [r.choice([0, 0, 6, 12, 25]) if r.random() < 0.9 else None for _ in shifts]
        stops.append(dict(place=i, windows=windows, service=r.choice([20, 30, 40, 55]), cost=cost, miss=MISS))
    for i in range(0, n - 1, 3):
        stops[i + 1]['place'] = stops[i]['place']
        least = r.randint(1, 1 + (days > 2))
        gaps.append(dict(first=i, then=i + 1, least=least, most=least + r.randint(0, 1)))
    return dict(places=places, times=times, stops=stops, shifts=shifts, gaps=gaps)

def solve(p):
    n, m = len(p['stops']), len(p['shifts'])
    T = p['times']
    B = 2000
    obj, rows, bounds, binaries = [], [], [], []
    def pl(v, s): return p['shifts'][s]['base'] if v == 'D' else p['stops'][v]['place']
    ok = {}
    for i, st in enumerate(p['stops']):
        for s, sh in enumerate(p['shifts']):
            w = st['windows'][sh['kind']]
            ok[i, s] = w[0] <= w[1] and st['cost'][s] is not None
    x = lambda i, j, s: f'x_{i}_{j}_{s}'
    for s in range(m):
        nodes = ['D'] + [i for i in range(n) if ok[i, s]]
        for i in nodes:
            for j in nodes:
                if i != j:
                    binaries.append(x(i, j, s)); obj.append(f"{T[pl(i,s)][pl(j,s)]} {x(i,j,s)}")
        for i in nodes:
            rows.append(' + '.join(x(i, j, s) for j in nodes if j != i) + ' - ' + ' - '.join(x(j, i, s) for j in nodes if j != i) + ' = 0' if len(nodes) > 1 else None)
        if len(nodes) > 1:
            rows.append(' + '.join(x('D', j, s) for j in nodes if j != 'D') + ' <= 1')
        sh = p['shifts'][s]
        for i in nodes[1:]:
            st = p['stops'][i]
            rows.append(f"y_{i}_{s} - " + ' - '.join(x(j, i, s) for j in nodes if j != i) + ' = 0')
            binaries.append(f'y_{i}_{s}'); obj.append(f"{st['cost'][s]} y_{i}_{s}")
            w = st['windows'][sh['kind']]
            rows.append(f"t_{i} - {w[0]-0} y_{i}_{s} >= 0")
            rows.append(f"t_{i} + {B} y_{i}_{s} <= {w[1] + B}")
            rows.append(f"t_{i} - {sh['open'] + T[sh['base']][st['place']]} {x('D',i,s)} >= 0")
            rows.append(f"t_{i} + {B} {x(i,'D',s)} <= {sh['close'] - st['service'] - T[st['place']][sh['base']] + B}")
            for j in nodes[1:]:
                if j != i:
                    rows.append(f"t_{j} - t_{i} - {B} {x(i,j,s)} >= {st['service'] + T[st['place']][p['stops'][j]['place']] - B}")
    for i, st in enumerate(p['stops']):
        ys = [f'y_{i}_{s}' for s in range(m) if ok[i, s]]
        rows.append(' + '.join(ys + [f'z_{i}']) + ' = 1'); binaries.append(f'z_{i}'); obj.append(f"{st['miss']} z_{i}")
        bounds.append(f'0 <= t_{i} <= {B}')
    for g in p['gaps']:
        a, b = g['first'], g['then']
        day = lambda v, sign: [f"{sign} {p['shifts'][s]['day']} y_{v}_{s}" for s in range(m) if ok[v, s] and p['shifts'][s]['day']]
        d = ' '.join(day(b, '+') + day(a, '-'))
        rows.append(f"{d} + 50 z_{a} + 50 z_{b} >= {g['least']}")
        rows.append(f"{d} - 50 z_{a} - 50 z_{b} <= {g['most']}")
    lp = 'Minimize\n obj: ' + '\n + '.join(obj) + '\nSubject To\n' + '\n'.join(f' c{k}: {r}' for k, r in enumerate(rows) if r) + '\nBounds\n' + '\n'.join(bounds) + '\nBinary\n' + '\n'.join(sorted(set(binaries))) + '\nEnd\n'
    with tempfile.TemporaryDirectory() as d:
        open(d + '/p.lp', 'w').write(lp)
        out = subprocess.run(['cbc', d + '/p.lp', 'ratio', '0', 'allow', '0', 'sec', '300', 'solve', 'solu', d + '/s'], capture_output=True, text=True).stdout
        head = open(d + '/s').readline()
        assert head.startswith('Optimal'), head + out[-500:]
        return float(head.split('objective value')[1])

if __name__ == '__main__':
    here = os.path.dirname(os.path.abspath(__file__))
    weeks = [draw(s) for s in range(1, 25)]
    want = []
    for k, w in enumerate(weeks):
        want.append(round(solve(w), 4)); print(k + 1, want[-1], flush=True)
    json.dump(weeks, open(here + '/input.json', 'w'), indent=None, separators=(',', ':'))
    json.dump(want, open(here + '/want.json', 'w'))
