# /usr/bin/python3 make.py > shapes.json      OpenCV 4.6.0, Shapely 1.8.5 on GEOS 3.11 (Debian 12)
#
# Polygons of our own: their area, perimeter and least rotated box by Shapely and by OpenCV, and homographies through
# given points by OpenCV.
import json, math, random
import cv2, numpy as np
from shapely.geometry import Polygon

rnd = random.Random(6)
shapes = []
def wavy(n, size, amp):
    ph = [rnd.uniform(0, 6.28) for _ in range(4)]
    out = []
    for i in range(n):
        t = 2 * math.pi * i / n
        r = size * (1 + sum(amp / (k + 1) * math.cos((k + 2) * t + ph[k]) for k in range(4)))
        out.append([round(r * math.cos(t), 6), round(0.7 * r * math.sin(t), 6)])
    return out
loops = {"triangle": [[0, 0], [4, 0], [0, 3]], "square": [[1, 1], [3, 1], [3, 3], [1, 3]],
         "dart": [[0, 0], [4, 2], [0, 4], [1, 2]], "horseshoe": [[0, 0], [6, 0], [6, 5], [4, 5], [4, 2], [2, 2], [2, 5], [0, 5]]}
for i in range(12):
    loops["wavy %d" % i] = wavy(rnd.choice([7, 20, 60, 200]), rnd.uniform(0.5, 8), rnd.uniform(0.05, 0.35))
for name, loop in loops.items():
    p = Polygon(loop)
    if not p.is_valid:
        continue
    box = p.minimum_rotated_rectangle.exterior.coords
    a, b = math.dist(box[0], box[1]), math.dist(box[1], box[2])
    c = np.array(loop, np.float32)
    (_, (cw, ch), _) = cv2.minAreaRect(c)
    shapes.append({"name": name, "loop": loop, "area": p.area, "perimeter": p.length, "centroid": list(p.centroid.coords[0]),
                   "box_long": max(a, b), "box_short": min(a, b), "greatest": max(math.dist(u, v) for u in loop for v in loop),
                   "cv_area": cv2.contourArea(c), "cv_perimeter": cv2.arcLength(c, True), "cv_box_long": max(cw, ch), "cv_box_short": min(cw, ch)})
maps = []
for i in range(8):
    cm = [[float(x), float(y)] for x in (-4, -2, 0, 2, 4) for y in (-3, 3)]
    H = np.array([[rnd.uniform(60, 120), rnd.uniform(-30, 30), 1000], [rnd.uniform(-30, 30), rnd.uniform(60, 120), 700],
                  [rnd.uniform(-.02, .02), rnd.uniform(-.02, .02), 1]])
    px = cv2.perspectiveTransform(np.array([cm]), H)[0]
    px = np.round(px + np.array([[rnd.gauss(0, .1), rnd.gauss(0, .1)] for _ in cm]), 3)
    G, _ = cv2.findHomography(np.array(cm), px, 0)
    ask = [[0.5, 0.25], [-3, 1], [3, -2], [1, 2.5]]
    got = cv2.perspectiveTransform(np.array([ask]), G)[0]
    maps.append({"cm": cm, "px": px.tolist(), "ask": ask, "got": got.tolist()})
print(json.dumps({"shapes": shapes, "maps": maps}))
