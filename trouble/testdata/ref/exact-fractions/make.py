# Python 3.11, standard library only: python3 make.py > want.json, run in this folder.
# Posteriors of hand-written calls as exact fractions, from the model's TOML files, by Bayes' rule written out here.
# Shares no code with the Go package; numbers are read as decimal strings, so nothing is rounded before the end.
import json, tomllib
from fractions import Fraction as F
from pathlib import Path

data = Path("../../../data")
load = lambda name: tomllib.loads((data / name).read_text(), parse_float=F)
causes = load("causes.toml")["cause"]
dangers = load("danger.toml")["danger"]
signs = {s["id"]: s for s in load("signs.toml")["sign"]}
checks = {c["id"]: c for c in load("checks.toml")["check"]}

calls = json.loads(Path("calls.json").read_text())
want = []
for call in calls:
    post = {c["id"]: F(c["prior"]) for c in causes}
    for d in dangers:
        yes = lambda c: F(d["given"].get(c, d["usual"]))
        v = call.get("danger", {}).get(d["id"])
        if v == "yes":
            post = {c: p * yes(c) for c, p in post.items()}
        elif v == "no":
            post = {c: p * (1 - yes(c)) for c, p in post.items()}
    said = call.get("signs", {})
    gone = {r for s in said for r in signs[s].get("replaces", []) if said[s] != "unknown"}
    for s, v in said.items():
        if s in gone or v == "unknown":
            continue
        k = [a["id"] for a in signs[s]["answers"]].index(v)
        post = {c: p * F(signs[s].get("given", {}).get(c, signs[s]["usual"])[k]) for c, p in post.items()}
    for check, result in call.get("checks", []):
        f = lambda c: F(checks[check]["finds"].get(c, 0))
        if result == "fixed":
            post = {c: p * f(c) for c, p in post.items()}
        elif result == "not fixed":
            post = {c: p * (1 - f(c)) for c, p in post.items()}
    total = sum(post.values())
    want.append({"name": call["name"], "chance": {c: float(p / total) for c, p in post.items()}})
print(json.dumps(want, indent=1))
