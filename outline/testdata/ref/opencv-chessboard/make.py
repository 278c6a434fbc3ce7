# /usr/bin/python3 make.py FOLDER > corners.json      with OpenCV 4.6.0 (Debian 12, python3-opencv)
#
# FOLDER holds left01.jpg, left05.jpg and left11.jpg of OpenCV's sample data (Apache-2.0; Debian package
# opencv-doc). Finds the 9 x 6 inner corners of the printed chessboard, whose squares are 2.5 cm wide by the
# calibration published beside the photographs (square_size in left_intrinsics.yml).
import json, sys
import cv2

out = []
for name in ["left01", "left05", "left11"]:
    grey = cv2.imread(sys.argv[1] + "/" + name + ".jpg", 0)
    ok, c = cv2.findChessboardCorners(grey, (9, 6))
    assert ok
    c = cv2.cornerSubPix(grey, c, (5, 5), (-1, -1), (3, 100, 1e-4))[:, 0]
    # OpenCV counts from the centre of the first pixel, we count from its corner.
    rows = [[[round(float(x) + 0.5, 3), round(float(y) + 0.5, 3)] for x, y in row] for row in c.reshape(6, 9, 2)]
    out.append({"photo": name, "width_px": grey.shape[1], "height_px": grey.shape[0], "square_cm": 2.5, "corners": rows})
print(json.dumps(out))
