"""Worst cases of loose hinges by a general second-order cone solver (CVXOPT).

    cone_oracle.py PROBLEMS ANSWERS    reads problems, writes one answer a problem
    cone_oracle.py --published         solves problems whose answers are published, prints them as JSON

A problem is a question and the pieces of the free range. On a piece, place x from 0 to `length`, each
clearance is the least of straight lines [at 0, at `length`]; the piece is the convex program

    max  q0 (x + from) + q1 a1 + q2 a2 + q3 b1 + q4 b2
    s.t. |a| <= each upper line at x,  |b| <= each lower line at x,  0 <= x <= length

and the answer is the largest of the pieces'.
"""

import json
import sys

from cvxopt import matrix, solvers, spmatrix


def piece_program(question, piece):
    """The program of one piece as (value added, value's scale, arguments of conelp). Variables: x / length in
    [0, 1], then a and b as shares of their largest possible length, so that everything is about 1."""
    ends = (piece["upper"], piece["lower"])
    size = max(max(line) for end in ends for line in end) or 1.0
    weights = [question[0] * piece["length"]] + [w * size for w in question[1:]]
    scale = max(abs(w) for w in weights) or 1.0
    rows, columns, values, right = [0, 1], [0, 0], [1.0, -1.0], [1.0, 0.0]
    cones = 0
    for end, lines in enumerate(ends):
        for at_from, at_to in lines:
            row = len(right)
            rows += [row, row + 1, row + 2]
            columns += [0, 1 + 2 * end, 2 + 2 * end]
            values += [(at_from - at_to) / size, -1.0, -1.0]
            right += [at_from / size, 0.0, 0.0]
            cones += 1
    return (
        question[0] * piece["from"],
        scale,
        (
            matrix([-w / scale for w in weights]),
            spmatrix(values, rows, columns, (len(right), 5)),
            matrix(right),
            {"l": 2, "q": [3] * cones, "s": []},
        ),
    )


def piece_worst(question, piece):
    added, scale, program = piece_program(question, piece)
    solution = solvers.conelp(*program)
    if solution["status"] != "optimal":
        raise ArithmeticError(f"{solution['status']}: {piece}")
    return added - scale * solution["primal objective"]


def worst(problem):
    return max(piece_worst(problem["question"], piece) for piece in problem["pieces"])


def published():
    """CVXOPT's user guide, also in the documentation of an R package: -38.34637 at (-5.01477, -5.76692,
    -8.52180). And a linear form over a ball, by hand: -7 at (1/3, -4/3, -7/3)."""
    guide = solvers.socp(
        matrix([-2.0, 1.0, 5.0]),
        Gq=[
            matrix([[12.0, 13.0, 12.0], [6.0, -3.0, -12.0], [-5.0, -5.0, 6.0]]),
            matrix([[3.0, 3.0, -1.0, 1.0], [-6.0, -6.0, -9.0, 19.0], [10.0, -2.0, -2.0, -3.0]]),
        ],
        hq=[matrix([-12.0, -3.0, -2.0]), matrix([27.0, 0.0, 3.0, -42.0])],
    )
    ball = solvers.socp(
        matrix([1.0, 2.0, 2.0]),
        Gq=[matrix([[0.0, -1.0, 0.0, 0.0], [0.0, 0.0, -1.0, 0.0], [0.0, 0.0, 0.0, -1.0]])],
        hq=[matrix([2.0, -1.0, 0.0, 1.0])],
    )
    return [{"value": s["primal objective"], "x": list(s["x"])} for s in (guide, ball)]


def main(arguments):
    # Nearer than this CVXOPT's scaling breaks down on some of the problems.
    solvers.options.update(show_progress=False, abstol=1e-9, reltol=1e-9, feastol=1e-9, maxiters=200)
    if arguments == ["--published"]:
        json.dump(published(), sys.stdout)
        return
    problems, answers = arguments
    with open(problems, encoding="utf-8") as file:
        solved = [worst(problem) for problem in json.load(file)]
    with open(answers, "w", encoding="utf-8") as file:
        json.dump(solved, file)


if __name__ == "__main__":
    main(sys.argv[1:])
