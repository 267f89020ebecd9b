"""Times a general cone solver (CVXOPT) on the problems of tests/reference/pressed_oracle.py.

    press_solver.py PROBLEMS    prints {"energies": [...], "seconds": [...]}, one of each a problem

Seconds are processor time (others may share the machine) inside the solver's own call alone, building the programs
left out, at its default tolerances (wider than the oracle's): the median of RUNS runs.
"""

import json
import statistics
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests" / "reference"))

from pressed_oracle import program, solvers  # noqa: E402

RUNS = 5


def main(path):
    solvers.options["show_progress"] = False
    energies, seconds = [], []
    with open(path, encoding="utf-8") as file:
        problems = json.load(file)
    for problem in problems:
        arguments, _, energy = program(problem)
        runs = []
        for _ in range(RUNS):
            start = time.process_time()
            solution = solvers.coneqp(*arguments)
            runs.append(time.process_time() - start)
        energies.append(solution["primal objective"] * energy)
        seconds.append(statistics.median(runs))
    json.dump({"energies": energies, "seconds": seconds}, sys.stdout)


if __name__ == "__main__":
    main(sys.argv[1])
