"""Makes pairs of pictures with a known transform by OpenCV, and lines them up by OpenCV's own means.

usage: pairs.py FOLDER STEP: reads FOLDER/base-*.png, writes FOLDER/pair-N-a.png and -b.png, prints one JSON list. Of all
pairs (every base under every condition) each STEPth is made.
"""
import glob
import json
import sys

import cv2
import numpy as np

cv2.setNumThreads(1)
cv2.setRNGSeed(1)
folder, step = sys.argv[1], int(sys.argv[2])


def similar(w, h, degrees=0, scale=1, dx=0, dy=0):
    m = np.eye(3)
    m[:2] = cv2.getRotationMatrix2D((w / 2, h / 2), degrees, scale)
    m[0, 2] += dx * w
    m[1, 2] += dy * h
    return m


def tilted(w, h, k):
    src = np.float32([[0, 0], [w, 0], [w, h], [0, h]])
    dst = np.float32([[k * w, k * h / 2], [w - k * w / 2, 0], [w, h - k * h / 3], [k * w / 3, h - k * h]])
    return cv2.getPerspectiveTransform(src, dst)


def light(g, gain=1.0, offset=0.0, side=0.0):
    ramp = 1 + side * np.linspace(-1, 1, g.shape[1])[None, :]
    return np.clip(g.astype(np.float32) * gain * ramp + offset, 0, 255).astype(np.uint8)


def noisy(g, sigma, rng):
    return np.clip(g + rng.normal(0, sigma, g.shape), 0, 255).astype(np.uint8)


def jpeg(g, quality):
    return cv2.imdecode(cv2.imencode(".jpg", g, [cv2.IMWRITE_JPEG_QUALITY, quality])[1], 0)


def covered(g, rng):
    g = g.copy()
    h, w = g.shape
    for _ in range(6):
        x, y = rng.integers(0, w - w // 5), rng.integers(0, h - h // 5)
        g[y:y + h // 5, x:x + w // 5] = cv2.resize(rng.integers(0, 255, (9, 9)).astype(np.uint8), (w // 5, h // 5))
    return g


none = lambda g, rng: g
CONDITIONS = [
    ("nothing", lambda w, h: np.eye(3), none),
    ("shift 10 %, 7 %", lambda w, h: similar(w, h, 0, 1, 0.10, 0.07), none),
    ("turn 5°", lambda w, h: similar(w, h, 5), none),
    ("turn 30°", lambda w, h: similar(w, h, 30), none),
    ("turn 90°", lambda w, h: similar(w, h, 90), none),
    ("scale 0.7", lambda w, h: similar(w, h, 0, 0.7), none),
    ("scale 1.4", lambda w, h: similar(w, h, 0, 1.4), none),
    ("scale 2", lambda w, h: similar(w, h, 0, 2), none),
    ("light: gain 0.5, offset 20", lambda w, h: similar(w, h, 2, 1, 0.02), lambda g, rng: light(g, 0.5, 20)),
    ("light from one side, ±25 %", lambda w, h: similar(w, h, 2, 1, 0.02), lambda g, rng: light(g, 0.8, 0, 0.25)),
    ("noise sigma 10", lambda w, h: similar(w, h, 2, 1, 0.02), lambda g, rng: noisy(g, 10, rng)),
    ("blur sigma 2", lambda w, h: similar(w, h, 2, 1, 0.02), lambda g, rng: cv2.GaussianBlur(g, (0, 0), 2)),
    ("JPEG quality 30", lambda w, h: similar(w, h, 2, 1, 0.02), lambda g, rng: jpeg(g, 30)),
    ("a quarter covered", lambda w, h: similar(w, h, 2, 1, 0.02), covered),
    ("perspective 5 %", lambda w, h: tilted(w, h, 0.05), none),
    ("perspective 12 %", lambda w, h: tilted(w, h, 0.12), none),
    ("second visit: turn 8°, scale 1.2, perspective 3 %, gain 0.7, noise 6, JPEG 70",
     lambda w, h: tilted(w, h, 0.03) @ similar(w, h, 8, 1.2, 0.05, -0.04), lambda g, rng: jpeg(noisy(light(g, 0.7, 10), 6, rng), 70)),
]


def error(m, known, w, h):
    """The largest distance between where m and the known transform carry places that both pictures show."""
    if m is None:
        return None
    x, y = np.meshgrid(np.linspace(0, w, 9), np.linspace(0, h, 9))
    p = np.stack([x.ravel(), y.ravel()], 1)[None]
    k, e = cv2.perspectiveTransform(p, known)[0], cv2.perspectiveTransform(p, m)[0]
    seen = (k[:, 0] >= 0) & (k[:, 0] <= w) & (k[:, 1] >= 0) & (k[:, 1] <= h)
    return round(float(np.abs(np.linalg.norm(k - e, axis=1)[seen]).max()), 2)


def by_points(a, b, finder, norm):
    ka, da = finder.detectAndCompute(a, None)
    kb, db = finder.detectAndCompute(b, None)
    if da is None or db is None or len(ka) < 4 or len(kb) < 4:
        return None
    good = [m[0] for m in cv2.BFMatcher(norm).knnMatch(da, db, k=2) if len(m) == 2 and m[0].distance < 0.75 * m[1].distance]
    if len(good) < 14:
        return None
    p = np.float32([ka[m.queryIdx].pt for m in good])
    q = np.float32([kb[m.trainIdx].pt for m in good])
    m, agree = cv2.findHomography(p, q, cv2.RANSAC, 3)
    return None if m is None or agree.sum() < 14 else m


def by_light(a, b, w, h):
    """ECC from the identity, at a quarter of the size first."""
    m = np.eye(3, dtype=np.float32)
    try:
        for f in (0.25, 0.5):
            s, d = np.diag([f, f, 1]).astype(np.float32), np.diag([1 / f, 1 / f, 1]).astype(np.float32)
            k = s @ m @ d
            _, k = cv2.findTransformECC(cv2.resize(a, None, fx=f, fy=f, interpolation=cv2.INTER_AREA), cv2.resize(b, None, fx=f, fy=f, interpolation=cv2.INTER_AREA), k.astype(np.float32),
                                        cv2.MOTION_HOMOGRAPHY, (3, 40, 1e-4), None, 5)
            m = d @ k @ s
    except cv2.error:
        return None
    return m.astype(np.float64)


out, count = [], 0
for base in sorted(glob.glob(folder + "/base-*.png")):
    whole = cv2.imread(base, 0)
    H, W = whole.shape
    w, h = W * 3 // 4, H * 3 // 4
    x0, y0 = (W - w) // 2, (H - h) // 2
    a = whole[y0:y0 + h, x0:x0 + w]
    for name, shape, change in CONDITIONS:
        count += 1
        if (count - 1) % step:
            continue
        rng = np.random.default_rng(count)
        known = shape(w, h)
        # The pixel's centre is at 0.5 in known; OpenCV counts it as 0.
        half = np.array([[1, 0, -0.5], [0, 1, -0.5], [0, 0, 1]])
        lift = half @ known @ np.linalg.inv(half) @ np.array([[1, 0, -x0], [0, 1, -y0], [0, 0, 1.0]])
        shrink = np.sqrt(abs(np.linalg.det(known[:2, :2])))
        src = whole if shrink > 0.9 else cv2.GaussianBlur(whole, (0, 0), 0.6 / shrink)
        b = change(cv2.warpPerspective(src, lift, (w, h), flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_REFLECT), rng)
        n = len(out)
        cv2.imwrite(f"{folder}/pair-{n}-a.png", a)
        cv2.imwrite(f"{folder}/pair-{n}-b.png", b)
        cv = lambda m: None if m is None else np.linalg.inv(half) @ m @ half
        out.append({
            "condition": name, "known": known.ravel().tolist(), "w": w, "h": h,
            "orb": error(cv(by_points(a, b, cv2.ORB_create(2000), cv2.NORM_HAMMING)), known, w, h),
            "sift": error(cv(by_points(a, b, cv2.SIFT_create(2000), cv2.NORM_L2)), known, w, h),
            "ecc": error(cv(by_light(a, b, w, h)), known, w, h),
        })
print(json.dumps(out))
