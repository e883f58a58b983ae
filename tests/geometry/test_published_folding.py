"""The engine against references from outside: sympy, origametry, a worked example, and theorems on flat folding."""

from collections import defaultdict
from fractions import Fraction as F
from math import pi
from random import Random

import numpy as np
import pytest
import shapely
import sympy
from hypothesis import given, settings
from hypothesis import strategies as st
from origametry import Point as DrawnPoint
from origametry import fold as drawn_fold

from geometry.creases import crease_of
from geometry.errors import GeometryError
from geometry.folding import Folded, fold_sheet
from geometry.plane import line_through, reflection
from geometry.spec import Fold, Sheet, read_spec
from geometry.unfolding import unfold
from tests.geometry.random_specs import random_spec

rationals = st.fractions(min_value=-2, max_value=2, max_denominator=60)
points = st.tuples(rationals, rationals)


def exact(p: tuple[F, F]) -> sympy.Point:
    return sympy.Point(
        sympy.Rational(p[0].numerator, p[0].denominator), sympy.Rational(p[1].numerator, p[1].denominator)
    )


@settings(max_examples=15, deadline=None)  # sympy takes its time
@given(points, points, points)
def test_reflections_are_those_of_sympy(a, b, p):
    if a == b:
        return
    image = reflection(line_through(a, b)).carry_point(p)
    assert exact(p).reflect(sympy.Line(exact(a), exact(b))) == exact(image)


def test_a_reflection_worked_by_hand():
    """The matrix of a reflection along (dx, dy) has (dx^2 - dy^2) / s and 2 dx dy / s; s = dx^2 + dy^2 (textbook)."""
    mirror = reflection(line_through((F(0), F(1, 3)), (F(1), F(5, 6))))
    assert mirror.carry_point((F(9, 10), F(1, 10))) == (F(53, 150), F(179, 150))
    assert mirror.turns_over
    assert not (mirror @ mirror).turns_over


@settings(max_examples=40, deadline=None)
@given(points, points)
def test_bringing_a_point_to_another_creases_along_sympys_bisector(p, q):
    """Axiom O2 of Huzita and Justin."""
    if p == q:
        return
    crease = crease_of(Fold(bring=p, to=q), 1)
    bisector = sympy.Segment(exact(p), exact(q)).perpendicular_bisector()
    assert bisector.contains(exact(crease.a))
    assert bisector.contains(exact(crease.b))
    assert crease.landing == q
    assert crease.moves(p)


@pytest.mark.parametrize("seed", range(30))
def test_bringing_a_point_to_another_creases_where_origametry_does(seed):
    """origametry 0.0.6 (PyPI), an independent library of the seven axioms; floats."""
    rng = Random(seed)
    p, q = ((F(rng.randint(0, 24), 24), F(rng.randint(0, 24), 24)) for _ in range(2))
    if p == q:
        pytest.skip("one point brought to itself creases nowhere")
    crease = crease_of(Fold(bring=p, to=q), 1)
    theirs = drawn_fold(DrawnPoint(*map(float, p)), DrawnPoint(*map(float, q)))
    for x, y in (crease.a, crease.b):
        assert DrawnPoint(float(x), float(y)).isOn(theirs)


def patterns(count: int) -> list[Folded]:
    found: list[Folded] = []
    seed = 0
    while len(found) < count:
        seed += 1
        spec = read_spec(random_spec(Random(seed), folds=(2, 4), flaps=0, convex=1, punches=1))
        try:
            found.append(fold_sheet(spec.sheet, spec.folds))
        except GeometryError:
            continue
    return found


@pytest.fixture(scope="module")
def crease_patterns() -> list[Folded]:
    return patterns(40)


def test_alternate_angles_at_inner_vertices_sum_to_half_a_turn(crease_patterns):
    """Kawasaki's theorem on flat folding."""
    inner = 0
    for folded in crease_patterns:
        rim = shapely.Polygon([(x / w, y / w) for x, y, w in folded.sheet.outline]).boundary
        corners = defaultdict(list)
        for face in folded.states[-1].faces:
            n = len(face.flat)
            for i, v in enumerate(face.flat):
                here, before, after = (face.outline_xy[j % n] for j in (i, i - 1, i + 1))
                out, back = complex(*(after - here)), complex(*(before - here))
                corners[F(v[0], v[2]), F(v[1], v[2])].append((np.angle(out + 0j), np.angle(back / out) % (2 * pi)))
        for (x, y), angles in corners.items():
            if rim.distance(shapely.Point(float(x), float(y))) < 1e-9:
                continue
            inner += 1
            around = [angle for _, angle in sorted(angles)]
            assert sum(around) == pytest.approx(2 * pi)
            assert sum(around[::2]) == pytest.approx(pi)
    assert inner > 30


def test_faces_can_be_coloured_with_two_colours(crease_patterns):
    """A flat-foldable pattern's faces are two-colourable: front and back, changing across every crease."""
    for folded in crease_patterns:
        faces = [(shapely.Polygon(f.outline_xy), f.turned) for f in folded.states[-1].faces]
        for i, (one, turned) in enumerate(faces):
            for other, its in faces[:i]:
                if shapely.intersection(one.boundary, other.boundary, grid_size=1e-9).length > 1e-6:
                    assert turned != its


def test_faces_tile_the_sheet(crease_patterns):
    for folded in crease_patterns:
        whole = shapely.Polygon([(x / w, y / w) for x, y, w in folded.sheet.outline]).area
        assert sum(shapely.Polygon(f.outline_xy).area for f in folded.states[-1].faces) == pytest.approx(whole)
        assert sum(shapely.Polygon(f.folded_xy).area for f in folded.states[-1].faces) == pytest.approx(whole)


SYMMETRIES = [  # of the square, each as what happens to (x, y)
    lambda x, y: (x, y),
    lambda x, y: (1 - y, x),
    lambda x, y: (1 - x, 1 - y),
    lambda x, y: (y, 1 - x),
    lambda x, y: (1 - x, y),
    lambda x, y: (x, 1 - y),
    lambda x, y: (y, x),
    lambda x, y: (1 - y, 1 - x),
]
FOLDS = [
    {"bring": (F(0), F(0)), "to": (F(1, 2), F(3, 4))},
    {"bring": (F(1), F(1)), "to": (F(1, 2), F(1, 2))},
    {"bring": (F(1), F(0)), "to": (F(3, 4), F(1, 4))},
]
PUNCHES = [(F(1, 2), F(5, 8)), (F(7, 12), F(5, 12))]


def holes(change, *, way: str = "over") -> shapely.Geometry:
    folds = tuple(Fold(bring=change(*f["bring"]), to=change(*f["to"]), way=way) for f in FOLDS)
    punches = [{"shape": "disc", "at": [str(c) for c in change(*p)], "size": "1/8"} for p in PUNCHES]
    spec = read_spec({"version": 1, "sheet": {"kind": "square"}, "punches": punches})
    solved = unfold(type(spec)(Sheet(), folds, spec.punches))
    return shapely.unary_union([h.region for h in solved.holes()], grid_size=1e-9)


@pytest.mark.parametrize("change", SYMMETRIES)
def test_a_question_turned_or_mirrored_has_its_answer_turned_or_mirrored(change):
    """The symmetry group of the square (eight elements). A 32-gon stands for the disc, which keeps all of them."""
    plain = shapely.transform(holes(SYMMETRIES[0]), lambda xy: np.column_stack(change(xy[:, 0], xy[:, 1])))
    assert shapely.symmetric_difference(plain, holes(change), grid_size=1e-9).area < 1e-7


def test_over_and_behind_leave_the_same_holes():
    one, other = holes(SYMMETRIES[0]), holes(SYMMETRIES[0], way="behind")
    assert shapely.symmetric_difference(one, other, grid_size=1e-9).area < 1e-7


def test_a_half_disc_on_the_crease_opens_into_a_disc():
    half = {"shape": "half-disc", "at": ["1/2", "1/2"], "size": "1/4", "turn": 270}
    fold = {"crease": [["1/2", 0], ["1/2", 1]], "moves": [0, 0]}
    spec = read_spec({"version": 1, "sheet": {"kind": "square"}, "folds": [fold], "punches": [half]})
    (hole,) = unfold(spec).holes()
    disc = shapely.Point(0.5, 0.5).buffer(1 / 8, quad_segs=8)
    assert shapely.symmetric_difference(hole.region, disc, grid_size=1e-9).area < 1e-6
    assert not hole.region.interiors
