"""Crease patterns of folded paper against the published theorems of flat folding.

Kawasaki: at an inner vertex of a flat-folded pattern every second angle sums to half a turn. Maekawa: there the
mountains and valleys differ by two in number, so an even number of creases meet. Two colours do for the faces.
"""

from collections import defaultdict
from collections.abc import Iterator
from fractions import Fraction as F
from itertools import pairwise
from math import atan2, pi
from random import Random

import pytest

from geometry.folding import fold_sheet
from geometry.plane import point, vertex
from geometry.spec import Fold, Sheet

PATTERNS = 1000


def random_folds(rng: Random) -> tuple[Fold, ...]:
    """Two or three all-layers folds along lines through the middle part of the square."""
    folds = []
    for _ in range(rng.choice([2, 3])):
        p = (F(rng.randint(3, 9), 12), F(rng.randint(3, 9), 12))
        dx, dy = rng.choice([(1, 0), (0, 1), (1, 1), (1, -1), (2, 1), (-1, 3), (3, 2)])
        way = rng.choice(["over", "behind"])
        folds.append(Fold(crease=(p, (p[0] + dx, p[1] + dy)), moves=(p[0] - dy, p[1] + dx), way=way))
    return tuple(folds)


def patterns() -> Iterator[list]:
    made, seed = 0, 0
    while made < PATTERNS:
        seed += 1
        try:
            yield list(fold_sheet(Sheet(), random_folds(Random(seed))).states[-1].faces)
        except ValueError:  # a crease that misses the folded paper, or leaves a sliver
            continue
        made += 1


@pytest.fixture(scope="module")
def stacks() -> list[tuple[list, dict]]:
    """The faces of each pattern, and its edges."""
    return [(faces, edges_of(faces)) for faces in patterns()]


def edges_of(faces) -> dict:
    """Every stretch of edge between vertices of the pattern, with the faces (places in the stack) that have it."""
    corners = {point(v) for face in faces for v in face.flat}
    found = defaultdict(list)
    for place, face in enumerate(faces):
        ring = [point(v) for v in face.flat]
        for p, q in zip(ring, ring[1:] + ring[:1], strict=True):
            stops = sorted(c for c in corners if on_segment(p, q, c))
            for pair in pairwise(stops):
                found[pair].append(place)
    return found


def on_segment(p, q, c) -> bool:
    straight = (q[0] - p[0]) * (c[1] - p[1]) == (q[1] - p[1]) * (c[0] - p[0])
    return straight and min(p[0], q[0]) <= c[0] <= max(p[0], q[0]) and min(p[1], q[1]) <= c[1] <= max(p[1], q[1])


def creases_at(faces, edges) -> dict:
    """For each inner vertex: the creases that meet there, as (angle, is a valley), in order of angle."""
    found = defaultdict(list)
    for (p, q), sides in edges.items():
        if len(sides) == 2:
            low = min(sides)
            valley = not faces[low].turned  # the higher face lies on the lower one's front
            for here, there in ((p, q), (q, p)):
                found[here].append((atan2(there[1] - here[1], there[0] - here[0]), valley))
    return {v: sorted(around) for v, around in found.items() if min(v) > 0 and max(v) < 1}


def test_alternate_angles_sum_to_half_a_turn(stacks):
    """Kawasaki's theorem."""
    seen = 0
    for faces, edges in stacks:
        for around in creases_at(faces, edges).values():
            angles = [angle for angle, _ in around]
            gaps = [b - a for a, b in pairwise([*angles, angles[0] + 2 * pi])]
            assert sum(gaps[::2]) == pytest.approx(pi, abs=1e-9)
            seen += 1
    assert seen > PATTERNS / 2


def test_mountains_and_valleys_differ_by_two(stacks):
    """Maekawa's theorem."""
    for faces, edges in stacks:
        for around in creases_at(faces, edges).values():
            valleys = sum(valley for _, valley in around)
            assert len(around) % 2 == 0
            assert abs(2 * valleys - len(around)) == 2


def test_two_colours_do(stacks):
    """Front and back up are the two colours: they change across every crease."""
    for faces, edges in stacks:
        shared = [sides for sides in edges.values() if len(sides) == 2]
        assert len(shared) >= len(faces) - 1
        assert all(faces[a].turned != faces[b].turned for a, b in shared)


def test_edges_that_are_no_crease_lie_on_the_rim(stacks):
    for _, edges in stacks:
        for ends, sides in edges.items():
            on_rim = any(all(end[axis] == value for end in ends) for axis in (0, 1) for value in (0, 1))
            assert len(sides) == (1 if on_rim else 2)
    assert vertex((F(1), F(1))) in {v for face in stacks[0][0] for v in face.flat}
