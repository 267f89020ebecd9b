"""What a PDF draws, read back with other tools: the file is written out plainly by qpdf, its pages' content is
followed operator by operator.

read_pdf.py FILE   prints a line for each path or text: page, kind, and its points in millimetres from the page's
                   upper left corner
                     1 stroke 0.35 x,y x,y ...      (line width; a curve gives its end points)
                     1 fill - x,y ...
                     1 clip - x,y ...
"""

import re
import subprocess
import sys

MM = 25.4 / 72


def plainly(path):
    done = subprocess.run(["qpdf", "--qdf", "--object-streams=disable", path, "-"], capture_output=True, check=False)
    if done.returncode != 0:
        sys.exit(done.stderr.decode())
    return done.stdout


def objects(data):
    found = {}
    for match in re.finditer(rb"^(\d+) 0 obj\n(.*?)^endobj", data, re.S | re.M):
        found[int(match.group(1))] = match.group(2)
    return found


def stream_of(body):
    return body[body.index(b"stream\n") + 7:body.rindex(b"endstream")]


def times(m, n):
    a, b, c, d, e, f = m
    g, h, i, j, k, l = n
    return (a * g + b * i, a * h + b * j, c * g + d * i, c * h + d * j, e * g + f * i + k, e * h + f * j + l)


TOKEN = re.compile(rb"<<.*?>>|\((?:\\.|[^\\)])*\)|<[0-9a-fA-F\s]*>|\[|\]|[^\s\[\]<>()]+", re.S)


def follow(number, content, height, forms):
    matrix, width, saved, stack, path = (1, 0, 0, 1, 0, 0), 1.0, [], [], []
    clip = False

    def at(x, y):
        a, b, c, d, e, f = matrix
        return (a * x + c * y + e) * MM, (height - (b * x + d * y + f)) * MM

    def scale():
        a, b, c, d, _, _ = matrix
        return abs(a * d - b * c) ** 0.5

    def put(kind):
        for part in path:
            points = " ".join(f"{x:.4f},{y:.4f}" for x, y in part)
            size = f"{width * scale() * MM:.4f}" if kind == "stroke" else "-"
            print(number, kind, size, points)

    for token in TOKEN.findall(content):
        if re.fullmatch(rb"[-+]?\d*\.?\d+", token):
            stack.append(float(token))
            continue
        op = token.decode("latin-1")
        if op == "q":
            saved.append((matrix, width))
        elif op == "Q":
            matrix, width = saved.pop()
        elif op == "cm":
            matrix = times(tuple(stack[-6:]), matrix)
        elif op == "w":
            width = stack[-1]
        elif op == "m":
            path.append([at(*stack[-2:])])
        elif op == "l":
            path[-1].append(at(*stack[-2:]))
        elif op == "c":
            path[-1].append(at(*stack[-2:]))
        elif op == "re":
            x, y, w, h = stack[-4:]
            path.append([at(x, y), at(x + w, y), at(x + w, y + h), at(x, y + h)])
        elif op in ("W", "W*"):
            clip = True
        elif op in ("S", "s"):
            put("stroke")
            path = []
        elif op in ("f", "F", "f*"):
            put("fill")
            path = []
        elif op in ("B", "B*", "b", "b*"):
            put("fill")
            put("stroke")
            path = []
        elif op == "n":
            if clip:
                put("clip")
            path = []
            clip = False
        elif op == "Do" and stack and stack[-1] in forms:
            follow(number, forms[stack[-1]], height, {})
        if op.startswith("/"):
            stack.append(op[1:])
        else:
            stack = []


def main():
    found = objects(plainly(sys.argv[1]))
    pages = [body for body in found.values() if b"/Type /Page\n" in body]
    for number, body in enumerate(pages, start=1):
        box = [float(v) for v in re.search(rb"/MediaBox \[([^\]]*)\]", body).group(1).split()]
        forms = {}
        resources = body
        reference = re.search(rb"/Resources (\d+) 0 R", body)
        if reference:
            resources = found[int(reference.group(1))]
        for name, target in re.findall(rb"/(x\d+) (\d+) 0 R", resources):
            if b"/Subtype /Form" in found[int(target)]:
                forms[name.decode()] = stream_of(found[int(target)])
        for target in re.findall(rb"(\d+) 0 R", re.search(rb"/Contents (\[[^\]]*\]|\d+ 0 R)", body).group(1)):
            follow(number, stream_of(found[int(target)]), box[3] - box[1], forms)


main()
