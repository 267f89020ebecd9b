"""Presses keys with a general cone solver (CVXOPT).

    pressed_oracle.py PROBLEMS ANSWERS

A problem is a key as its rigid motion sees it: vectors across the hinge line for both ends (a, b), a turn, and one
spring at each spot of the rim. The program minimises half of the sum of stiffness x s^2 less the work of finger and
spring, over a, b, turn and one s >= 0 a spot with s >= compression there, and |a|, |b| within their clearances.
An answer is {"energy", "upper", "lower", "turn"}: the solver's pose, brought back into its cones where it is outside
by the solver's tolerance, and the energy of exactly that pose, so that what the tolerance leaves counts by its square.
"""

import json
import math
import sys

import numpy
from cvxopt import matrix, solvers, spmatrix


def motion(problem, station, arm, clock):
    """How (a, b, turn) moves a point across its arm: five numbers."""
    s = station / problem["key_length"]
    across = (-math.sin(clock), math.cos(clock))
    return numpy.array([(1 - s) * across[0], (1 - s) * across[1], s * across[0], s * across[1], arm])


def program(problem):
    """Arguments of coneqp, with the unknowns' and the energy's scales."""
    pad = problem["pad"]
    spots = len(problem["dips"])
    radius = pad["tone_hole"] / 2
    each = problem["stiffness"] / spots
    touch = problem["touch"]
    load = problem["finger"] * motion(problem, touch["station"], touch["arm"], touch["clock"])
    load[4] += problem["spring"]
    depth = load[4] / pad["arm"] / problem["stiffness"]
    # The ends in shares of their clearances, the turn in that of an even pad, springs in its depth.
    scale = numpy.array([problem["upper"]] * 2 + [problem["lower"]] * 2 + [depth / pad["arm"]])
    energy = load[4] * scale[4]
    rows, columns, values, right = [], [], [], []
    for k in range(spots):
        psi = 2 * math.pi * k / spots
        moved = scale * motion(problem, pad["station"] + radius * math.cos(psi), pad["arm"] + radius * math.sin(psi),
                               pad["clock"])
        off = (problem["side"] * math.cos(psi) + problem["front"] * math.sin(psi)) / 2 + problem["dips"][k]
        # moved . x - off <= depth s
        for i in range(5):
            rows.append(k), columns.append(i), values.append(moved[i] / depth)
        rows.append(k), columns.append(5 + k), values.append(-1.0)
        right.append(off / depth)
    for k in range(spots):
        rows.append(spots + k), columns.append(5 + k), values.append(-1.0)
        right.append(0.0)
    at = 2 * spots
    for end in range(2):
        right += [1.0, 0.0, 0.0]
        for i in range(2):
            rows.append(at + 3 * end + 1 + i), columns.append(2 * end + i), values.append(-1.0)
    inequality = spmatrix(values, rows, columns, (at + 6, 5 + spots))
    quadratic = spmatrix([each * depth**2 / energy] * spots, range(5, 5 + spots), range(5, 5 + spots))
    linear = matrix(0.0, (5 + spots, 1))
    for i in range(5):
        linear[i] = -load[i] * scale[i] / energy
    return (quadratic, linear, inequality, matrix(right), {"l": at, "q": [3, 3], "s": []}), scale, energy


def within(vector, most):
    length = math.hypot(*vector)
    return [v * most / length for v in vector] if length > most else list(vector)


def energy_of(problem, pose):
    pad, touch = problem["pad"], problem["touch"]
    spots = len(problem["dips"])
    radius = pad["tone_hole"] / 2
    ring = 0.0
    for k in range(spots):
        psi = 2 * math.pi * k / spots
        moved = motion(problem, pad["station"] + radius * math.cos(psi), pad["arm"] + radius * math.sin(psi),
                       pad["clock"]) @ pose
        off = (problem["side"] * math.cos(psi) + problem["front"] * math.sin(psi)) / 2 + problem["dips"][k]
        ring += max(0.0, moved - off) ** 2
    work = problem["finger"] * (motion(problem, touch["station"], touch["arm"], touch["clock"]) @ pose)
    return problem["stiffness"] / spots / 2 * ring - work - problem["spring"] * pose[4]


def answer(problem):
    arguments, scale, _ = program(problem)
    solution = solvers.coneqp(*arguments)
    x = [solution["x"][i] * scale[i] for i in range(5)]
    upper = within(x[0:2], problem["upper"])
    lower = within(x[2:4], problem["lower"])
    return {
        "energy": energy_of(problem, numpy.array(upper + lower + [x[4]])),
        "upper": upper,
        "lower": lower,
        "turn": x[4],
    }


def main(asked, answered):
    solvers.options.update(show_progress=False, abstol=1e-11, reltol=1e-10, feastol=1e-10)
    with open(asked, encoding="utf-8") as file:
        problems = json.load(file)
    answers = [answer(problem) for problem in problems]
    with open(answered, "w", encoding="utf-8") as file:
        json.dump(answers, file)


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2])
