#!/usr/bin/env python3
"""Checks parsed readings with exact fractions.

Reads lines of three words: the number as typed (decimal, or p/q), the factor to the inner unit (p/q), the
parsed double's bits (16 hexadecimal digits). Prints each line that is not the nearest double, then the count.
"""

import struct
import sys
from decimal import Decimal
from fractions import Fraction


def exactly(text):
    return Fraction(text) if "/" in text else Fraction(Decimal(text))


wrong = 0
lines = 0
for line in sys.stdin:
    number, factor, bits = line.split()
    # A Fraction's division is correctly rounded (ties to even).
    value = float(exactly(number) * Fraction(factor))
    lines += 1
    if struct.pack(">d", value).hex() != bits:
        wrong += 1
        print("wrong:", line.strip(), value)
print(lines, "checked,", wrong, "wrong")
