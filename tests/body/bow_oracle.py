"""Bends by other formulas, with NumPy.

    bow_oracle.py PROBLEMS ANSWERS

Bows: the circle is held by its heights at three nodes and found as A(x^2 + y^2) + Bx + Cy + D = 0 through
them; derivatives are numeric; each step is numpy.linalg.lstsq. Curvature is four times the nodes' triangle
over the product of its sides.

Keys: the chord of each hinge line on its circle, for a curvature tried by golden section on both sides; the
common part by the normal equation.
"""

import json
import math
import sys

import numpy as np


def circle_through(nodes, heights):
    (x1, x2, x3), (y1, y2, y3) = nodes, heights
    a = x1 * (y2 - y3) - y1 * (x2 - x3) + x2 * y3 - x3 * y2
    s1, s2, s3 = x1 * x1 + y1 * y1, x2 * x2 + y2 * y2, x3 * x3 + y3 * y3
    b = s1 * (y3 - y2) + s2 * (y1 - y3) + s3 * (y2 - y1)
    c = s1 * (x2 - x3) + s2 * (x3 - x1) + s3 * (x1 - x2)
    d = s1 * (x3 * y2 - x2 * y3) + s2 * (x1 * y3 - x3 * y1) + s3 * (x2 * y1 - x1 * y2)
    return a, b, c, d


def height(nodes, heights, x):
    a, b, c, d = circle_through(nodes, heights)
    free = a * x * x + b * x + d
    root = np.sqrt(c * c - 4 * a * free)
    return -2 * free / (c + np.sign(c) * root)


def curvature(nodes, heights):
    p = [(np.longdouble(x), np.longdouble(y)) for x, y in zip(nodes, heights)]
    side = lambda i, k: np.hypot(p[i][0] - p[k][0], p[i][1] - p[k][1])
    twice = (p[1][0] - p[0][0]) * (p[2][1] - p[0][1]) - (p[2][0] - p[0][0]) * (p[1][1] - p[0][1])
    return -2 * twice / (side(0, 1) * side(1, 2) * side(0, 2))


def bow(problem):
    x = np.array(problem["station"], dtype=np.longdouble)
    y = np.array(problem["height"], dtype=np.longdouble)
    ux = np.array(problem["station_doubt"])
    uy = np.array(problem["height_doubt"])
    nodes = np.array([x.min(), (x.min() + x.max()) / 2, x.max()], dtype=np.longdouble)
    # Begin on the parabola, so that the circle exists.
    begin = np.polyfit(x.astype(float), y.astype(float), 2)
    heights = np.polyval(begin, nodes.astype(float)).astype(np.longdouble)
    step = np.longdouble(1e-5)
    for _ in range(40):
        slope = (height(nodes, heights, x + step) - height(nodes, heights, x - step)) / (2 * step)
        doubt = np.sqrt(uy**2 + (slope.astype(float) * ux) ** 2)
        jacobian = np.empty((len(x), 3))
        for k in range(3):
            up, down = heights.copy(), heights.copy()
            up[k] += step
            down[k] -= step
            jacobian[:, k] = (height(nodes, up, x) - height(nodes, down, x)) / (2 * step)
        rest = (y - height(nodes, heights, x)).astype(float)
        weighted = jacobian / doubt[:, None]
        move = np.linalg.lstsq(weighted, rest / doubt, rcond=None)[0]
        heights = heights + move
        if np.abs(move).max() < 1e-14 * (1 + float(np.abs(heights).max())):
            break
    covariance = np.linalg.inv(weighted.T @ weighted)
    gradient = np.empty(3)
    for k in range(3):
        up, down = heights.copy(), heights.copy()
        up[k] += step
        down[k] -= step
        gradient[k] = (curvature(nodes, up) - curvature(nodes, down)) / (2 * step)
    return {
        "curvature": float(curvature(nodes, heights)),
        "standard": math.sqrt(gradient @ covariance @ gradient),
        "chi_square": float((((y - height(nodes, heights, x)).astype(float) / doubt) ** 2).sum()),
    }


def effect(key, k):
    s, y = key["span"], key["off_axis"]
    if k == 0:
        return 0.0
    turn = 2 * math.asin(k * s / (2 * (1 - k * y)))
    out = s - turn / k
    for joint in key["joints"]:
        a, h, r, g = joint["half_angle"], joint["engaged"], joint["tip_radius"], abs(turn) / 2
        t, u = math.tan(a), math.tan(a + g)
        out -= (h * (u - t) - 2 * r * (1 - math.cos(g)) + r * math.sin(g) * (u - t)) / (t + u)
    return out


def keys(problem):
    own, common_doubt = problem["each"], problem["common"]
    weights = np.array([1 / (key["standard"] ** 2 + own**2) for key in problem["keys"]])
    over = np.array([key["over"] for key in problem["keys"]])

    def misfit(k):
        rest = over - np.array([effect(key, k) for key in problem["keys"]])
        common = (weights * rest).sum() / (weights.sum() + 1 / common_doubt**2)
        return (weights * (rest - common) ** 2).sum() + (common / common_doubt) ** 2, common

    best = None
    for sign in (1, -1):
        low, high = 0.0, 2e-3
        golden = (math.sqrt(5) - 1) / 2
        m, n = high - golden * (high - low), low + golden * (high - low)
        fm, fn = misfit(sign * m)[0], misfit(sign * n)[0]
        for _ in range(70):
            if fm < fn:
                high, n, fn = n, m, fm
                m = high - golden * (high - low)
                fm = misfit(sign * m)[0]
            else:
                low, m, fm = m, n, fn
                n = low + golden * (high - low)
                fn = misfit(sign * n)[0]
        k = sign * (low + high) / 2
        least, common = misfit(k)
        if best is None or least < best["chi_square"]:
            best = {"curvature": k, "common": common, "chi_square": least}
    return best


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        problems = json.load(file)
    answers = {"bows": [bow(p) for p in problems["bows"]], "keys": [keys(p) for p in problems["keys"]]}
    with open(sys.argv[2], "w", encoding="utf-8") as file:
        json.dump(answers, file)


main()
