"""A bowed rod in a straight bore, by finite elements and a general quadratic solver (CVXOPT).

    bow_oracle.py PROBLEMS ANSWERS

Hermite cubic beam elements over half of the tube (the middle is a line of symmetry). Unknown: deflection and slope at
each node; least bending energy against the curvature the rod has by itself; the deflection of every node that lies in
a bearing stays within the radial clearance. Forces are the multipliers of those bounds. Lengths in units of half the
tube, the curvature by itself 1, bending stiffness 1: answers are forces in units of stiffness x curvature / half.
"""

import json
import sys

from cvxopt import matrix, solvers, spmatrix

ELEMENTS = 100


def forces(clearance, bearing):
    """Sum of all contact forces of the whole tube; clearance in units of curvature x half^2, bearing of half."""
    h = 1 / ELEMENTS
    unknowns = 2 * (ELEMENTS + 1)
    stiff = [
        [12, 6 * h, -12, 6 * h],
        [6 * h, 4 * h * h, -6 * h, 2 * h * h],
        [-12, -6 * h, 12, -6 * h],
        [6 * h, 2 * h * h, -6 * h, 4 * h * h],
    ]
    energy = matrix(0.0, (unknowns, unknowns))
    for e in range(ELEMENTS):
        for i in range(4):
            for j in range(4):
                energy[2 * e + i, 2 * e + j] += stiff[i][j] / h**3
    # An even curvature of its own is a couple at the free end (node ELEMENTS); node 0 is the middle: no slope.
    load = matrix(0.0, (unknowns, 1))
    load[unknowns - 1] = 1.0
    flat = spmatrix(1.0, [0], [1], (1, unknowns))
    inside = [n for n in range(ELEMENTS + 1) if n * h >= 1 - bearing - 1e-12]
    rows = list(range(2 * len(inside)))
    columns = [2 * n for n in inside] * 2
    signs = [1.0] * len(inside) + [-1.0] * len(inside)
    bounds = matrix(clearance, (2 * len(inside), 1))
    found = solvers.qp(energy, -load, spmatrix(signs, rows, columns, (len(rows), unknowns)), bounds, flat, matrix([0.0]))
    if found["status"] != "optimal":
        raise RuntimeError(found["status"])
    # Contact in the middle belongs to both halves: half the model sees half its force.
    return 2 * sum(found["z"])


def main(arguments):
    solvers.options.update(show_progress=False, abstol=1e-9, reltol=1e-8, feastol=1e-8)
    with open(arguments[0], encoding="utf-8") as file:
        problems = json.load(file)
    with open(arguments[1], "w", encoding="utf-8") as file:
        json.dump([forces(p["clearance"], p["bearing"]) for p in problems], file)


if __name__ == "__main__":
    main(sys.argv[1:])
