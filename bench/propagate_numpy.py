"""The model of bench/propagate.cpp in NumPy: conical points with flat tips in conical holes, by draws.

    propagate_numpy.py HINGES    prints {"wall": s, "processor": s, "figures": [{code: [mean, standard], ...}]}

One draw of every input, all figures of belief::Figure, their means, standard deviations and the ends of the 95 %
interval. Written over arrays of CHUNK draws, which stay in the second cache, with float64 throughout and results
written in place where that is quicker; the median of RUNS runs over all hinges.
"""

import json
import statistics
import sys
import time

import numpy as np

CHUNK = 4096
RUNS = 3
SAME = 1e-9

FIGURES = ("end-play", "gap-upper", "gap-lower", "face-gap", "rock-upper", "rock-lower", "rock-pad", "side-gap",
           "front-gap", "pad-gap", "seat-wander", "home-rock-upper", "home-rock-lower", "insertion-upper",
           "insertion-lower", "tip-floor-upper", "tip-floor-lower")


class End:
    """One joint: where it stops, and its clearance."""

    def __init__(self, v, at):
        self.tip, self.mouth = v[at + "tip"], v[at + "mouth"]
        self.rise, self.fall = np.tan(v[at + "angle"]), np.tan(v[at + "hole_angle"])
        self.width = self.mouth - self.tip
        self.floor = np.minimum(v[at + "depth"], self.mouth / self.fall)
        rim = self.width / self.rise
        wall = self.width / self.fall
        self.home = np.minimum(np.minimum(rim, wall), self.floor)
        self.on_floor = self.floor - self.home <= SAME

    def lines(self, t):
        """Rim over the flank, and the tip's edge under the wall."""
        return self.width - self.rise * t, self.width - self.fall * t


def clearance(lines):
    return np.maximum(np.minimum(*lines), 0)


def crossing(at_low, at_high):
    """Share of the free range at which one line takes over from the other; 0 where none does."""
    low = at_low[0] - at_low[1]
    high = at_high[0] - at_high[1]
    crosses = low * high < 0
    if not crosses.any():
        return None
    return np.where(crosses, low / np.where(crosses, low - high, 1), 0)


def between(at_low, at_high, share):
    return clearance([a + (b - a) * share for a, b in zip(at_low, at_high)])


def figures_of(v):
    key = v["key"]
    gap = v["span"] - key
    upper, lower = End(v, "upper_"), End(v, "lower_")
    low = np.maximum(v["upper_stop"], 0)
    high = np.minimum(gap - v["lower_stop"], gap)
    play = high - low
    free = play >= 0
    protrusion = upper.home + v["upper_stop"], lower.home + v["lower_stop"]
    upper_lines = upper.lines(protrusion[0] - low), upper.lines(protrusion[0] - high)
    lower_lines = lower.lines(protrusion[1] - (gap - low)), lower.lines(protrusion[1] - (gap - high))
    places = [(0.0, clearance(upper_lines[0]), clearance(lower_lines[0])),
              (1.0, clearance(upper_lines[1]), clearance(lower_lines[1]))]
    home_rock = [np.where((stop >= 0) & ~end.on_floor, 0, 2 * c) for stop, end, c in (
        (v["upper_stop"], upper, places[0][1]), (v["lower_stop"], lower, places[1][2]))]
    for lines in (upper_lines, lower_lines):
        share = crossing(*lines)
        if share is not None:
            places.append((share, between(*upper_lines, share), between(*lower_lines, share)))

    s = v["station"] / key
    side, front, swing = v["tone_hole"] / key, v["tone_hole"] / v["arm"], v["arm"] / key
    rock = tilt = worst = wander = 0
    corners = []
    for share, cu, cl in places:
        u, l = (1 - s) * cu, s * cl
        plus, minus, both, apart = u + l, l - u, cu + cl, cl - cu
        rock = np.maximum(rock, np.abs(1 - s) * cu + np.abs(s) * cl)
        tilt = np.maximum(tilt, both)
        worst = np.maximum(worst, np.maximum((side * apart) ** 2 + (front * plus) ** 2,
                                             (side * both) ** 2 + (front * minus) ** 2))
        own = (swing * apart, plus), (swing * both, minus)
        for x, y in own:
            wander = np.maximum(wander, 4 * (x * x + y * y))
            for other_share, others in corners:
                far = np.abs(play * (share - other_share))
                for ox, oy in others:
                    wander = np.maximum(wander, (far + np.abs(x + ox)) ** 2 + (y + oy) ** 2)
                    wander = np.maximum(wander, (far + np.abs(x - ox)) ** 2 + (y - oy) ** 2)
        corners.append((share, own))
    return (play, low, gap - high, gap, 2 * places[1][1] * free, 2 * places[0][2] * free, 2 * rock * free,
            side * tilt * free, front * rock * free, np.sqrt(worst) * free, np.sqrt(wander) * free, *home_rock,
            upper.home, lower.home, upper.floor - upper.home, lower.floor - lower.home)


def propagate(hinge, draws, random):
    kept = np.empty((len(FIGURES), draws))
    means = [pair[0] for pair in hinge.values()]
    standards = [pair[1] for pair in hinge.values()]
    deviates = np.empty((len(hinge), CHUNK))
    for first in range(0, draws, CHUNK):
        count = min(CHUNK, draws - first)
        random.standard_normal(out=deviates)
        drawn = {name: m + s * z for name, m, s, z in zip(hinge, means, standards, deviates[:, :count])}
        for row, values in zip(kept, figures_of(drawn)):
            row[first:first + count] = values
    out = {}
    tail = round(0.025 * draws)
    for name, row in zip(FIGURES, kept):
        mean, standard = row.mean(), row.std(ddof=1)
        row.partition((tail, draws - 1 - tail))
        out[name] = [mean, standard, row[tail], row[draws - 1 - tail]]
    return out


def main(path):
    with open(path, encoding="utf-8") as file:
        asked = json.load(file)
    walls, processors = [], []
    for run in range(RUNS):
        random = np.random.Generator(np.random.SFC64(run + 1))
        wall, processor = time.perf_counter(), time.process_time()
        figures = [propagate(hinge, asked["draws"], random) for hinge in asked["hinges"]]
        walls.append(time.perf_counter() - wall)
        processors.append(time.process_time() - processor)
    json.dump({"version": np.__version__, "wall": statistics.median(walls),
               "processor": statistics.median(processors), "figures": figures}, sys.stdout)


if __name__ == "__main__":
    main(sys.argv[1])
