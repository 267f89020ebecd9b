"""Reads an archive by what docs/formats/archive.md says, and by nothing else of this program.

Prints what it counted and the sum it reckoned; fails with a word where the archive is not whole.
"""

import base64
import hashlib
import json
import sys


def main(path):
    with open(path, "rb") as file:
        text = file.read()
    assert text.endswith(b"\n"), "the last line has no end"
    lines = text.decode("utf-8").split("\n")[:-1]
    heading, end = json.loads(lines[0]), json.loads(lines[-1])
    assert heading["format"] == "hingeline-archive" and heading["version"] == 1, "not such an archive"
    sum_ = hashlib.sha256(text[: len(text) - len(lines[-1].encode()) - 1]).hexdigest()
    assert end == {"sha256": sum_}, "another sum"

    kinds = ["slip", "waiting", "forgotten", "bytes"]
    keys = {kind: [] for kind in kinds}
    part = 0
    for line in lines[1:-1]:
        value = json.loads(line)
        kind = next(k for k in kinds if k in value)
        assert kinds.index(kind) >= part, "parts out of order"
        part = kinds.index(kind)
        keys[kind].append(value[kind]["id"] if kind in ("slip", "waiting") else value[kind])
        if kind == "bytes":
            assert hashlib.sha256(base64.b64decode(value["base64"], validate=True)).hexdigest() == value["bytes"]
        if kind == "waiting":
            assert (value["needs"] == "") != (value["why"] == "")
    for kind in kinds:
        assert keys[kind] == sorted(set(keys[kind])), f"{kind} out of order"
    counted = {"slips": len(keys["slip"]), "waiting": len(keys["waiting"]),
               "forgotten": len(keys["forgotten"]), "bytes": len(keys["bytes"])}
    for name, number in counted.items():
        assert heading[name] == number, f"{name}: {number}, not {heading[name]}"
    assert set(keys["forgotten"]) <= set(keys["slip"]) and not set(keys["waiting"]) & set(keys["slip"])
    print(counted["slips"], counted["waiting"], counted["forgotten"], counted["bytes"], sum_)


main(sys.argv[1])
