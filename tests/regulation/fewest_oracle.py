"""Fewest corks by a general mixed integer solver, glpsol.

Reads chains with pairs, writes for each the least number of corks and, that number held, the least worst gap in
tolerances and then the least total change; none where no change does it. The closing angle of every pad is built
from contacts, with a binary for each contact that carries; nothing is searched.
"""
import json
import subprocess
import sys
import tempfile
import os

MOST_TURN = 8.0  # rad, above every angle here
MOST_MOVE = 150.0  # mm, above every displacement here


def ways(case, key):
    """Every list of links from key 0 to this one."""
    if key == 0:
        return [[]]
    return [way + [n] for n, l in enumerate(case["links"]) if l["to"] == key for way in ways(case, l["from"])]


def at_pad(case, key, way):
    """mm at the pad per radian of key 0."""
    ratio = case["keys"][key]["arm"]
    for n in way:
        ratio *= case["links"][n]["driver_arm"] / case["links"][n]["foot_arm"]
    return ratio


def problem(case, count=None, worst=None):
    """LP text. Stage by what is held."""
    links = case["links"]
    rows, bounds, binaries = [], [], []
    n_links = len(links)
    for n in range(n_links):
        low, high = case["rooms"][n]
        bounds.append(f"{low} <= d{n} <= {high}")
        bounds.append(f"0 <= z{n} <= 1")
        bounds.append(f"0 <= t{n} <= {max(-low, high)}")
        binaries.append(f"z{n}")
        rows.append(f"d{n} - {high} z{n} <= 0")
        rows.append(f"d{n} + {abs(low)} z{n} >= 0")
        rows.append(f"t{n} - d{n} >= 0")
        rows.append(f"t{n} + d{n} >= 0")
    targets = sorted({k for p in case["pairs"] for k in (p["first"], p["second"])})
    for t in targets:
        # need[k]: by how much key k turns when pad t seats; the least over the contacts it drives towards t.
        leads = {t}
        for k in reversed(range(len(case["keys"]))):
            if any(l["from"] == k and l["to"] in leads for l in links):
                leads.add(k)
        for k in sorted(leads):
            bounds.append(f"0 <= n{t}_{k} <= {MOST_TURN}")
            if k == t:
                rows.append(f"n{t}_{k} = {case['keys'][t]['opening'] / case['keys'][t]['arm']}")
                continue
            own = [n for n, l in enumerate(links) if l["from"] == k and l["to"] in leads]
            for n in own:
                l = links[n]
                r, f, g = l["driver_arm"], l["foot_arm"], l["gap"]
                # r need_k = g - d + f need_to for the one that carries, <= for the others
                rows.append(f"{r} n{t}_{k} + d{n} - {f} n{t}_{l['to']} <= {g}")
                rows.append(f"{r} n{t}_{k} + d{n} - {f} n{t}_{l['to']} - {MOST_MOVE} c{t}_{n} >= {g - MOST_MOVE}")
                binaries.append(f"c{t}_{n}")
            rows.append(" + ".join(f"c{t}_{n}" for n in own) + " = 1")
    tolerance = case["tolerance"]
    bounds.append("0 <= w <= 1")
    for p in case["pairs"]:
        f, s = p["first"], p["second"]
        for late, early in ((s, f), (f, s)):
            for way in ways(case, late):
                per = at_pad(case, late, way) / tolerance
                most = per * MOST_TURN
                carried = "".join(f" + {most} c{late}_{n}" for n in way)
                rows.append(f"{per} n{late}_0 - {per} n{early}_0 - w{carried} <= {most * len(way)}")
    if count is not None:
        rows.append(" + ".join(f"z{n}" for n in range(n_links)) + f" <= {count}")
    if worst is not None:
        rows.append(f"w <= {worst}")
    if count is None:
        goal = " + ".join(f"z{n}" for n in range(n_links))
    elif worst is None:
        goal = "w"
    else:
        goal = " + ".join(f"t{n}" for n in range(n_links))
    text = ["Minimize", f" goal: {goal}", "Subject To"]
    text += [f" r{i}: {row}" for i, row in enumerate(rows)]
    text += ["Bounds"] + [" " + b for b in bounds]
    text += ["Binaries"] + [" " + b for b in binaries] + ["End"]
    return "\n".join(text) + "\n"


def solve(text, folder):
    """The least value; none where nothing fits."""
    model = os.path.join(folder, "model.lp")
    answer = os.path.join(folder, "answer.txt")
    with open(model, "w") as file:
        file.write(text)
    subprocess.run(["glpsol", "--lp", model, "-w", answer], check=True, stdout=subprocess.DEVNULL)
    with open(answer) as file:
        for line in file:
            if line.startswith("s "):
                fields = line.split()
                # s mip ROWS COLUMNS STATUS OBJECTIVE
                return float(fields[5]) if fields[4] == "o" else None
    raise RuntimeError("glpsol gave no solution line")


def main():
    with open(sys.argv[1]) as file:
        cases = json.load(file)
    out = []
    with tempfile.TemporaryDirectory() as folder:
        for case in cases:
            count = solve(problem(case), folder)
            if count is None:
                out.append(None)
                continue
            count = round(count)
            worst = solve(problem(case, count), folder)
            total = solve(problem(case, count, worst + 1e-7), folder)
            out.append({"count": count, "worst": worst, "total": total})
    with open(sys.argv[2], "w") as file:
        json.dump(out, file)


main()
