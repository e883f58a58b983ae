"""Published tables of marks, each with its source. A string of 0 and 1 is one person's marks."""

from typing import NamedTuple

import numpy as np

LSAT_6, LSAT_7 = "section 6", "section 7"


class Pattern(NamedTuple):
    marks: str
    section_6: int
    section_7: int


# Bock and Lieberman 1970, Psychometrika 35, 179-197: how many of 1,000 persons gave each pattern of right answers to
# the five items of sections 6 and 7 of the Law School Admission Test.
_PATTERNS = """
    00000 3 12; 00001 6 19; 00010 2 1; 00011 11 7; 00100 1 3; 00101 1 19
    00110 3 3; 00111 4 17; 01000 1 10; 01001 8 5; 01010 0 3; 01011 16 7
    01100 0 7; 01101 3 23; 01110 2 8; 01111 15 28; 10000 10 7; 10001 29 39
    10010 14 11; 10011 81 34; 10100 3 14; 10101 28 51; 10110 15 15; 10111 80 90
    11000 16 6; 11001 56 25; 11010 21 7; 11011 173 35; 11100 11 18; 11101 61 136
    11110 28 32; 11111 298 308
"""
PATTERNS = [
    Pattern(marks, int(six), int(seven))
    for marks, six, seven in (one.split() for one in _PATTERNS.replace("\n", ";").split(";") if one.strip())
]


def marks_of(section: str) -> np.ndarray:
    """Return the table of one section: 1,000 persons x 5 items."""
    counts = [pattern.section_6 if section == LSAT_6 else pattern.section_7 for pattern in PATTERNS]
    return np.repeat(_table(" ".join(pattern.marks for pattern in PATTERNS)), counts, axis=0)


def _table(rows: str) -> np.ndarray:
    return np.array([[int(mark) for mark in row] for row in rows.split()])


# C. Zaiontz, Real Statistics: the worked example of the Kuder and Richardson formula 20.
KR20_EXAMPLE = _table(
    """
    11111111111 11111111010 10111111100 11101101100 11111000100 01101111000
    11110010000 11111000000 01011000010 10010100000 11100000000 10010000000
    """
)

# K. Wuensch, East Carolina University, KR20.txt: a small table of ten persons and ten items.
ITEM_TOTAL_TABLE = _table(
    """
    1111110110 1011011101 1111011001 0010001000 0000010010 1110111111
    1101110111 1111111101 0101111101 1101101110
    """
)
