"""Argon2id by the reference implementation (argon2-cffi, Debian's python3-argon2).

    argon2_oracle.py look < LINES    each line PASSWORD<tab>STRING: prints "fits" or "does not" for it
    argon2_oracle.py keep < LINES    each line PASSWORD<tab>PASSES<tab>KIBIBYTES: prints the string it is kept as
"""

import sys

from argon2 import low_level
from argon2.exceptions import VerifyMismatchError


def look(password, kept):
    try:
        return "fits" if low_level.verify_secret(kept.encode(), password.encode(), low_level.Type.ID) else "does not"
    except VerifyMismatchError:
        return "does not"


def keep(password, passes, kibibytes):
    return low_level.hash_secret(password.encode(), b"sixteen bytes...", int(passes), int(kibibytes), 1, 32,
                                 low_level.Type.ID).decode()


for line in sys.stdin:
    print({"look": look, "keep": keep}[sys.argv[1]](*line.rstrip("\n").split("\t")))
