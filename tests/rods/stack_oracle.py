"""Stacks of tubes by a general mixed-integer solver, GLPK's glpsol.

    stack_oracle.py PROBLEMS ANSWERS

Written from the places of everything along the line, not from end plays and offsets: posts, tube ends, pads and
tone holes are variables or numbers, in micrometres; a set-up is a whole number that is 0 or 1. Each stack is a
problem of its own in CPLEX LP format, all posts and gaps together.
"""

import json
import os
import subprocess
import sys
import tempfile


class Problem:
    def __init__(self):
        self.objective = []
        self.rows = []
        self.bounds = []
        self.whole = []

    def free(self, name):
        self.bounds.append(f"{name} free")
        return name

    def operation(self, name, least, most, set_up, rate):
        """An amount that is 0 or from least to most."""
        if most < least:
            return None
        used = "u" + name
        self.whole.append(used)
        self.objective += [(set_up, used), (rate, name)]
        self.row([(1, name), (-most, used)], "<=", 0)
        self.row([(1, name), (-least, used)], ">=", 0)
        return name

    def row(self, terms, sense, right):
        self.rows.append((terms, sense, right))

    def text(self):
        def sum_of(terms):
            return " ".join(f"{'+' if c >= 0 else '-'} {abs(c)!r} {name}" for c, name in terms)

        lines = ["Minimize", " cost: " + (sum_of(self.objective) or "0 nothing"), "Subject To"]
        for n, (terms, sense, right) in enumerate(self.rows):
            lines.append(f" r{n}: {sum_of(terms)} {sense} {right!r}")
        lines += ["Bounds"] + [" " + b for b in self.bounds]
        if self.whole:
            lines += ["Binary"] + [" " + w for w in self.whole]
        return "\n".join(lines + ["End", ""])


def built(stack):
    prices = stack["prices"]
    p = Problem()
    least = prices["least"]
    # Posts: where each one's faces move to.
    moved = []
    for n, post in enumerate(stack["posts"]):
        name = p.free(f"p{n}")
        terms = [(1, name)]
        used = []
        for way, sign in (("up", 1), ("down", -1)):
            amount = p.operation(f"m{way}{n}", least, post[way], *prices["post"])
            if amount:
                terms.append((sign, amount))
                used.append((1, "u" + amount))
        p.row(terms, "=", 0)
        if len(used) > 1:
            p.row(used, "<=", 1)
        moved.append(name)
    for g, gap in enumerate(stack["gaps"]):
        low, high = gap["window"]
        guard = min(prices["guard"], (high - low) / 2)
        # Pushed up: each tube's upper end stands on what is above it; pushed down: its lower end on what is below.
        count = len(gap["tubes"])
        tops = [p.free(f"a{g}t{t}") for t in range(count + 1)]
        bottoms = [p.free(f"b{g}t{t}") for t in range(count + 1)]
        p.row([(1, tops[0]), (-1, moved[g])], "=", gap["upper_face"])
        p.row([(1, bottoms[count]), (-1, moved[g + 1])], "=", gap["lower_face"])
        for t, tube in enumerate(gap["tubes"]):
            changes = []
            reams = []
            for side in ("upper", "lower"):
                part = tube[side]
                most = part["swedge_most"]
                free = min(part["swedge_free"], most)
                name = f"{side[0]}{g}t{t}"
                plain = p.operation("s" + name, least, free, *prices["swedge"])
                reamed = p.operation("r" + name, max(least, free), most, *prices["swedge"]) if most > free else None
                faced = p.operation("f" + name, least, part["face_most"], *prices["face"])
                p.row([(1, "u" + o) for o in (plain, reamed, faced) if o] + [(0, "nothing")], "<=", 1)
                changes.append([(1, o) for o in (plain, reamed) if o] + [(-1, faced)] * bool(faced))
                if reamed:
                    reams.append("u" + reamed)
            if reams:
                once = f"ream{g}t{t}"
                p.whole.append(once)
                p.objective.append((prices["ream_swedged"], once))
                for used in reams:
                    p.row([(1, once), (-1, used)], ">=", 0)
            minus = [(-c, name) for c, name in changes[0] + changes[1]]
            p.row([(1, tops[t + 1]), (-1, tops[t])] + minus, "=", tube["length"])
            p.row([(1, bottoms[t + 1]), (-1, bottoms[t])] + minus, "=", tube["length"])
            if tube["tone_hole"] is not None:
                # The pad, from the tube's upper end: its station and what that part grew by.
                hole, station, allowed = tube["tone_hole"], tube["station"], tube["allowed"]
                p.row([(1, tops[t])] + changes[0], ">=", hole - station - allowed)
                p.row([(1, bottoms[t])] + changes[0], "<=", hole - station + allowed)
        p.row([(1, bottoms[0]), (-1, tops[0])], ">=", low + guard)
        p.row([(1, bottoms[0]), (-1, tops[0])], "<=", high - guard)
    return p.text()


def solved(text, folder):
    model, answer = os.path.join(folder, "model.lp"), os.path.join(folder, "answer.txt")
    with open(model, "w", encoding="ascii") as file:
        file.write(text)
    run = subprocess.run(
        ["glpsol", "--lp", model, "--write", answer], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, check=False
    )
    if run.returncode != 0:
        raise RuntimeError(run.stdout.decode())
    with open(answer, encoding="ascii") as file:
        for line in file:
            # "s mip ROWS COLUMNS STATUS OBJECTIVE": o for optimal, n for no solution, u for undefined.
            if line.startswith("s "):
                words = line.split()
                return float(words[5]) if words[4] == "o" else None
    raise RuntimeError("no answer of glpsol")


def main(arguments):
    with open(arguments[0], encoding="utf-8") as file:
        stacks = json.load(file)
    with tempfile.TemporaryDirectory() as folder:
        answers = [solved(built(stack), folder) for stack in stacks]
    with open(arguments[1], "w", encoding="utf-8") as file:
        json.dump(answers, file)


if __name__ == "__main__":
    main(sys.argv[1:])
