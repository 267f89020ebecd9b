"""Times a general second-order cone solver (CVXOPT) on the problems of tests/reference/cone_oracle.py.

    cone_solver.py PROBLEMS    prints {"values": [...], "seconds": [...]}, one of each a problem

Seconds are those inside the solver's own call alone, building the programs left out, at its default
tolerances (wider than the oracle's): the median of RUNS runs, summed over the problem's pieces.
"""

import json
import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests" / "reference"))

from cone_oracle import piece_program, solvers  # noqa: E402

RUNS = 5


def timed(program):
    start = time.perf_counter()
    solution = solvers.conelp(*program)
    return time.perf_counter() - start, solution["primal objective"]


def main(path):
    solvers.options["show_progress"] = False
    values, seconds = [], []
    with open(path, encoding="utf-8") as file:
        problems = json.load(file)
    for problem in problems:
        programs = [piece_program(problem["question"], piece) for piece in problem["pieces"]]
        best, spent = float("-inf"), 0.0
        for added, scale, program in programs:
            runs = [timed(program) for _ in range(RUNS)]
            spent += statistics.median(run[0] for run in runs)
            best = max(best, added - scale * runs[0][1])
        values.append(best)
        seconds.append(spent)
    json.dump({"values": values, "seconds": seconds}, sys.stdout)


if __name__ == "__main__":
    main(sys.argv[1])
