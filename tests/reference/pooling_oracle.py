"""Partial pooling by other formulas, with CVXOPT's dense linear algebra (LAPACK).

    pooling_oracle.py PROBLEMS ANSWERS

Sums of effects: the joint normal of effects and readings, conditioned in the space of the readings,

    K = P H' (H P H' + R)^-1,  mean = m + K (y - H m),  covariance = P - K H P.

A screw family's measure: mean and ln of the spread on one grid of two dimensions, nothing in closed form.
"""

import json
import math
import sys

from cvxopt import lapack, matrix


def effects(problem):
    count, rows = len(problem["means"]), len(problem["read"])
    means = matrix(problem["means"], (count, 1), "d")
    asked = matrix(problem["asked"], (count, 1), "d")
    prior = matrix(0.0, (count, count))
    prior[:: count + 1] = [s * s for s in problem["standards"]]
    if rows == 0:
        return {"mean": (asked.T * means)[0], "variance": (asked.T * prior * asked)[0]}
    design = matrix([float(x) for row in problem["design"] for x in row], (count, rows)).T
    read = matrix(problem["read"], (rows, 1), "d")
    noise = matrix(0.0, (rows, rows))
    noise[:: rows + 1] = [s * s for s in problem["noise"]]
    gain = design * prior
    lapack.gesv(design * prior * design.T + noise, gain)
    mean = means + gain.T * (read - design * means)
    covariance = prior - gain.T * design * prior
    return {"mean": (asked.T * mean)[0], "variance": (asked.T * covariance * asked)[0]}


def field(problem):
    figure, standard = problem["figure"], problem["standard"]
    half = standard**2 / 2
    root = math.sqrt(half)
    # The reach and the steps at which the sums no longer change in the ninth digit.
    means = [figure + 8 * root * k / 600 for k in range(-600, 601)]
    points = []
    for k in range(-60, 61):
        z = 0.15 * k
        spread = half * math.exp(2 * 0.5 * (z - 0.5))
        screws = [(value, 1 / (2 * (spread + doubt**2))) for value, doubt in problem["screws"]]
        base = -z * z / 2 + sum(math.log(p) for _, p in screws) / 2
        for mean in means:
            log_weight = base - (mean - figure) ** 2 / (2 * half)
            for value, p in screws:
                log_weight -= (value - mean) ** 2 * p
            points.append((log_weight, mean, spread))
    best = max(point[0] for point in points)
    weights = [math.exp(point[0] - best) for point in points]
    total = math.fsum(weights)
    middle = math.fsum(w * p[1] for w, p in zip(weights, points)) / total
    between = math.fsum(w * p[2] for w, p in zip(weights, points)) / total
    about = math.fsum(w * (p[1] - middle) ** 2 for w, p in zip(weights, points)) / total
    return {"mean": middle, "variance": about + between, "between": between}


def main(arguments):
    problems, answers = arguments
    with open(problems, encoding="utf-8") as file:
        asked = json.load(file)
    solved = {
        "effects": [effects(problem) for problem in asked["effects"]],
        "fields": [field(problem) for problem in asked["fields"]],
    }
    with open(answers, "w", encoding="utf-8") as file:
        json.dump(solved, file)


if __name__ == "__main__":
    main(sys.argv[1:])
