# python3 make.py FOLDER
# FOLDER holds the StRD nonlinear regression files (*.dat) as NIST publishes them. Writes strd.json, all data sets with
# both starting points and certified values, and table.toml, the parameters of the small sets from both starts.
import json, re, sys, pathlib

here = pathlib.Path(__file__).parent
out = []
for path in sorted(pathlib.Path(sys.argv[1]).glob("*.dat")):
    text = path.read_text()
    lines = text.splitlines()
    first, last = map(int, re.search(r"Data\s+\(lines\s+(\d+) to\s+(\d+)\)", text).groups())
    rows = [list(map(float, l.split())) for l in lines[first - 1:last] if l.strip()]
    params = re.findall(r"^\s*b\d+\s*=\s*(\S+)\s+(\S+)\s+(\S+)\s+(\S+)", text, re.M)
    rss = float(re.search(r"Residual Sum of Squares:\s+(\S+)", text).group(1))
    sd = float(re.search(r"Residual Standard Deviation:\s+(\S+)", text).group(1))
    out.append({
        "name": path.stem,
        "y": [r[0] for r in rows], "x": [r[1] for r in rows],
        "starts": [[float(p[0]) for p in params], [float(p[1]) for p in params]],
        "certified": [float(p[2]) for p in params], "certified_sd": [float(p[3]) for p in params],
        "rss": rss, "residual_sd": sd,
    })
(here / "strd.json").write_text("[\n" + ",\n".join(json.dumps(d) for d in out) + "\n]\n")

small = ["Misra1a", "Misra1d", "DanWood", "BoxBOD", "Rat42", "MGH10"]
t = ['figure = "healing.LeastSquares"', 'kind = "open data"',
     'source = "NIST/ITL Statistical Reference Datasets, nonlinear regression (public domain)"',
     'locator = "certified values of the data set named in each row, from both published starting points"',
     'tolerance = "six digits of the certified value: the digits that central differences in double precision allow"', ""]
for d in out:
    if d["name"] not in small:
        continue
    for s, start in enumerate(d["starts"]):
        for k, want in enumerate(d["certified"]):
            t += ["[[row]]", f'name = "{d["name"]} b{k+1} from start {s+1}"',
                  f'in = {{ model = "{d["name"]}", param = {k+1}, x = {d["x"]}, y = {d["y"]}, start = {start} }}',
                  f"want = {want!r}", f"tol = {abs(want) * 1e-6:.3g}", ""]
(here / "table.toml").write_text("\n".join(t))
