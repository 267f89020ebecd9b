"""Reads every SVG file of a folder with an XML reader that is not ours and prints what is wrong."""

import re
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

SVG = "{http://www.w3.org/2000/svg}"


def faults(path):
    root = ET.parse(path).getroot()
    text = path.read_text(encoding="utf-8")
    ids = [e.get("id") for e in root.iter() if e.get("id")]
    box = root.get("viewBox").split()
    if root.tag != SVG + "svg" or root.get("role") != "img":
        yield "is no picture"
    if len(ids) != len(set(ids)):
        yield "has an id twice"
    for name in re.findall(r"url\(#([^)]*)\)", text) + root.get("aria-labelledby").split():
        if name not in ids:
            yield "points to nothing: " + name
    if root[0].tag != SVG + "title" or not root[0].text:
        yield "has no title"
    if root[1].tag != SVG + "desc" or not root[1].text:
        yield "has no description"
    if not list(root.iter(SVG + "text")):
        yield "has no text"
    if [root.get("width"), root.get("height")] != [box[2] + "mm", box[3] + "mm"]:
        yield "is not one unit to the millimetre"


files = sorted(Path(sys.argv[1]).glob("*.svg"))
for file in files:
    for fault in faults(file):
        print(file.name, fault)
print("checked", len(files))
