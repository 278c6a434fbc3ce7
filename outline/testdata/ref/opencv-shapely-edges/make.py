# /usr/bin/python3 make.py scenes.json > want.json      (Debian 12: python3-opencv 4.6.0, python3-shapely 1.8.5)
# scenes.json comes from: go run ./evidence/cmd/edges -dump scenes.json
# It holds rings and masks; everything in want.json is computed here, by OpenCV and by Shapely (GEOS), from those.
import json, sys
import cv2, numpy as np
from shapely.geometry import Polygon
from shapely.validation import make_valid

out = []
for s in json.load(open(sys.argv[1])):
    side = s["side"]
    truth = np.zeros(side * side, np.uint8)
    for start, length in s["mask_runs"]:
        truth[start:start + length] = 1
    truth = truth.reshape(side, side)
    poly = Polygon(s["outer"], s["holes"] or [])
    if not poly.is_valid:
        poly = make_valid(poly)
    # OpenCV fills on a grid 16 times finer, so that its own rounding to grid points hardly matters
    k = 16
    fine = np.zeros((side * k, side * k), np.uint8)
    rings = [np.round(np.array(r) * k - 0.5).astype(np.int32) for r in [s["outer"]] + (s["holes"] or [])]
    cv2.fillPoly(fine, rings, 1)
    mean = fine.reshape(side, k, side, k).mean(axis=(1, 3))
    found = fine[k // 2::k, k // 2::k]
    dice = 2.0 * np.logical_and(found, truth).sum() / (found.sum() + truth.sum())
    # Dice of areas instead of pixel centres: the polygon against the union of the mask's pixels, by GEOS
    boxes = 0.0
    ys, xs = np.nonzero(truth)
    from shapely.prepared import prep
    from shapely.geometry import box
    prepared = prep(poly)
    for y, x in zip(ys, xs):
        b = box(x, y, x + 1, y + 1)
        if prepared.contains(b):
            boxes += 1.0
        elif prepared.intersects(b):
            boxes += poly.intersection(b).area
    out.append({
        "dice_opencv": float(dice),
        "dice_geos": float(2 * boxes / (poly.area + truth.sum())),
        "area_geos": poly.area,
        "area_opencv": float(cv2.contourArea(np.array(s["outer"], np.float32))),
        "perimeter_geos": Polygon(s["outer"]).length,
        "covered_opencv": float(mean.sum()),
    })
json.dump(out, sys.stdout, indent=1)
print()
