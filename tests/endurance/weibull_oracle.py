"""Weibull fits by a general optimiser: the textbook log-likelihood in ln shape and ln scale, climbed by the
downhill simplex from several starts; bounds by scanning and bisecting the likelihood profiled by golden section.
Nothing of the library's formulas, no slopes, no concavity. Standard library only.

    weibull_oracle.py PROBLEMS ANSWERS
"""

import json
import math
import sys

INFINITE = float("inf")


def log_likelihood(lives, shape, scale):
    total = 0.0
    for low, high in lives:
        try:
            at_low = (low / scale) ** shape
            if high is None:
                total -= at_low
            elif high == low:
                total += math.log(shape / scale) + (shape - 1) * math.log(low / scale) - at_low
            else:
                at_high = (high / scale) ** shape
                total += -at_low + math.log(-math.expm1(at_low - at_high))
        except (OverflowError, ValueError):
            return -INFINITE
    return total


def simplex(f, start, size):
    """Least value of f, Nelder and Mead."""
    points = [list(start)] + [[x + (size if i == k else 0) for k, x in enumerate(start)] for i in range(len(start))]
    points = sorted((f(p), p) for p in points)
    for _ in range(2000):
        if points[-1][0] - points[0][0] < 1e-14 and max(
            abs(points[-1][1][k] - points[0][1][k]) for k in range(len(start))
        ) < 1e-9:
            break
        middle = [sum(p[k] for _, p in points[:-1]) / (len(points) - 1) for k in range(len(start))]

        def along(t):
            p = [m + t * (w - m) for m, w in zip(middle, points[-1][1])]
            return (f(p), p)

        mirrored = along(-1)
        if mirrored[0] < points[0][0]:
            points[-1] = min(mirrored, along(-2))
        elif mirrored[0] < points[-2][0]:
            points[-1] = mirrored
        else:
            pulled = along(-0.5) if mirrored[0] < points[-1][0] else along(0.5)
            if pulled[0] < min(mirrored[0], points[-1][0]):
                points[-1] = pulled
            else:
                best = points[0][1]
                points = [points[0]] + [
                    (f(q), q) for q in ([(a + b) / 2 for a, b in zip(best, p)] for _, p in points[1:])
                ]
        points.sort()
    return points[0]


def golden(f, low, high):
    """Largest value of f with one peak."""
    share = (math.sqrt(5) - 1) / 2
    a, b = high - share * (high - low), low + share * (high - low)
    fa, fb = f(a), f(b)
    for _ in range(80):
        if fa >= fb:
            high, b, fb = b, a, fa
            a = high - share * (high - low)
            fa = f(a)
        else:
            low, a, fa = a, b, fb
            b = low + share * (high - low)
            fb = f(b)
    return max(fa, fb)


def crossing(profile, best, way, level):
    step = 0.02
    inside, outside = best, best + way * step
    while profile(outside) > level:
        inside = outside
        step *= 1.5
        outside += way * step
        if abs(outside - best) > 40:
            return None
    for _ in range(60):
        middle = (inside + outside) / 2
        if profile(middle) > level:
            inside = middle
        else:
            outside = middle
    return (inside + outside) / 2


def solve(problem):
    lives = problem["lives"]
    seen = [x for life in lives for x in life if x]
    centre = sum(math.log(x) for x in seen) / len(seen)

    def down(p):
        if abs(p[0]) > 6 or abs(p[1] - centre) > 25:
            return INFINITE
        return -log_likelihood(lives, math.exp(p[0]), math.exp(p[1]))

    best = min(simplex(down, start, 0.4) for start in ([0.0, centre], [1.2, centre + 0.3]))
    best = min(best, simplex(down, best[1], 0.01))
    shape, scale = math.exp(best[1][0]), math.exp(best[1][1])
    answer = {"shape": shape, "scale": scale, "log_likelihood": -best[0]}
    if not problem["bounds"]:
        return answer
    level = -best[0] - problem["half_chi"]

    def profiled(make):
        return golden(lambda log_shape: log_likelihood(lives, *make(math.exp(log_shape))), -5, 5)

    def by_shape(x):
        return golden(lambda log_scale: log_likelihood(lives, math.exp(x), math.exp(log_scale)), centre - 60, centre + 60)

    def by_b10(x):
        return profiled(lambda b: (b, math.exp(x) / (-math.log(0.9)) ** (1 / b)))

    life = problem["life"]

    def by_reliability(x):
        # x is ln(-ln R) at that life.
        return profiled(lambda b: (b, life / math.exp(x / b)))

    b10 = scale * (-math.log(0.9)) ** (1 / shape)
    spots = {"shape": (by_shape, best[1][0]), "b10": (by_b10, math.log(b10)),
             "reliability": (by_reliability, shape * math.log(life / scale))}
    for name, (profile, at) in spots.items():
        answer[name + "_low"] = crossing(profile, at, -1, level)
        answer[name + "_high"] = crossing(profile, at, 1, level)
    return answer


def main(arguments):
    problems, answers = arguments
    with open(problems, encoding="utf-8") as file:
        asked = json.load(file)
    solved = [solve(problem) for problem in asked]
    with open(answers, "w", encoding="utf-8") as file:
        json.dump(solved, file)


if __name__ == "__main__":
    main(sys.argv[1:])
