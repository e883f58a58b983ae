"""Folding: the worked example layer by layer, axiom O2, what all folds keep, and what paper cannot do."""

from fractions import Fraction as F
from random import Random

import pytest
import shapely
import sympy
from origametry import Point as DrawnPoint
from origametry import fold as drawn_fold

from geometry.creases import crease_of
from geometry.errors import CreaseError, FoldError, GeometryError, LayersError, NothingMovesError, SliverError
from geometry.folding import Folded, fold_sheet
from geometry.plane import twice_area
from geometry.spec import Fold, Sheet, read_spec
from tests.geometry.random_specs import random_spec


def folded(*folds, sheet=None) -> Folded:
    spec = read_spec({"version": 1, "sheet": sheet or {"kind": "square"}, "folds": list(folds)})
    return fold_sheet(spec.sheet, spec.folds)


def crease(p, q, moves, **more):
    return {"crease": [p, q], "moves": moves, **more}


CORNER_TO_CORNER = (
    {"bring": [0, 0], "to": [1, 1]},
    {"bring": [1, 0], "to": [0, 1]},
    {"bring": [0, 1], "to": [1, 1]},
)
EIGHT_LAYERS = [  # bottom to top, (a, b, c, d, e, f) for x' = a x + b y + e, y' = c x + d y + f: rabbit-ear 0.9.32
    (1, 0, 0, 1, 0, 0),
    (0, -1, -1, 0, 1, 1),
    (-1, 0, 0, -1, 1, 1),
    (0, 1, 1, 0, 0, 0),
    (0, -1, 1, 0, 1, 0),
    (1, 0, 0, -1, 0, 1),
    (0, 1, -1, 0, 0, 1),
    (-1, 0, 0, 1, 1, 0),
]


def matrices(state) -> list[tuple[F, ...]]:
    return [(*m.linear[0], *m.linear[1], F(m.e, m.w), F(m.f, m.w)) for m in (face.motion for face in state.faces)]


def test_corner_to_corner_three_times_stacks_the_eight_symmetries_of_the_square():
    """The worked example; its eight matrices are those of an independent library (rabbit-ear 0.9.32, npm)."""
    states = folded(*CORNER_TO_CORNER).states
    assert [len(state.faces) for state in states] == [1, 2, 4, 8]
    assert matrices(states[-1]) == EIGHT_LAYERS
    assert [face.turned for face in states[-1].faces] == [a * d < b * c for a, b, c, d, _, _ in EIGHT_LAYERS]
    assert states[-1].outline.area == pytest.approx(1 / 8)


def test_behind_reverses_the_stack():
    behind = [fold | {"way": "behind"} for fold in CORNER_TO_CORNER]
    assert matrices(folded(*behind).states[-1]) == EIGHT_LAYERS[::-1]


def test_bringing_a_corner_to_the_middle_of_a_side_creases_with_slope_one_half():
    """(0, 1) to (1/2, 0): through (1/4, 1/2) with slope 1/2, as sympy, origametry and rabbit-ear agree."""
    (x, y), (u, v) = crease_of(Fold(bring=(F(0), F(1)), to=(F(1, 2), F(0))), 1).points
    assert (v - y) / (u - x) == F(1, 2)
    assert y - F(1, 2) == F(1, 2) * (x - F(1, 4))


@pytest.mark.parametrize("seed", range(12))
def test_o2_creases_are_those_of_sympy_and_origametry(seed):
    """sympy 1.14 ``perpendicular_bisector``, exact; origametry 0.0.6 ``fold``, floats; numbers from thirds to 97ths."""
    rng = Random(seed)
    p, q = ((F(rng.randint(0, 97), 97), F(rng.randint(0, 3), 3) + F(i, 7)) for i in range(2))
    made = crease_of(Fold(bring=p, to=q), 1)
    exact_p, exact_q = (sympy.Point(*(sympy.Rational(c.numerator, c.denominator) for c in point)) for point in (p, q))
    bisector = sympy.Segment(exact_p, exact_q).perpendicular_bisector()
    drawn = drawn_fold(DrawnPoint(*map(float, p)), DrawnPoint(*map(float, q)))
    for x, y in made.points:
        exact = sympy.Point(sympy.Rational(x.numerator, x.denominator), sympy.Rational(y.numerator, y.denominator))
        assert bisector.contains(exact)
        assert DrawnPoint(float(x), float(y)).isOn(drawn)
    assert made.landing == q
    assert made.moves(p)
    assert not made.moves(q)


@pytest.mark.parametrize("seed", range(25))
def test_folding_keeps_all_of_the_paper(seed):
    """In every state: faces tile the sheet, exactly; isometries keep area; the silhouette never grows."""
    spec = read_spec(random_spec(Random(seed + 900)))
    try:
        states = fold_sheet(spec.sheet, spec.folds).states
    except GeometryError:
        pytest.skip("not every random spec can be folded")
    whole = twice_area(spec.sheet.outline)
    for state in states:
        assert sum(twice_area(face.flat) for face in state.faces) == whole
        assert sum(twice_area(face.folded) for face in state.faces) == whole
        joined = shapely.unary_union([shapely.Polygon(f.outline_xy) for f in state.faces], grid_size=1e-9)
        assert joined.area == pytest.approx(float(whole) / 2)
    silhouettes = [state.outline.area for state in states]
    assert silhouettes[0] == pytest.approx(float(whole) / 2)
    assert max(silhouettes) < float(whole) / 2 + 1e-9


def test_what_a_fold_moves_and_leaves_is_remembered():
    result = folded(*CORNER_TO_CORNER)
    assert sorted(face.moved for face in result.states[-1].faces) == list(range(8))  # every choice of three folds
    for face in result.states[-1].faces:
        assert result.motion_after(3, face) == face.motion
        assert result.motion_after(0, face).carry_point((F(1, 3), F(1, 5))) == (F(1, 3), F(1, 5))


HALF = crease(["1/2", 0], ["1/2", 1], [0, 0])


@pytest.mark.parametrize(
    ("folds", "error", "number", "says"),
    [
        ([crease([0, 0], [0, 0], [1, 1])], CreaseError, 1, "needs two different points"),
        ([HALF, crease([0, 0], [1, 1], ["1/2", "1/2"])], NothingMovesError, 2, "lies on the crease itself"),
        ([HALF, {"bring": [1, 1], "to": [1, 1]}], CreaseError, 2, "to where it already is"),
        ([crease([0, 2], [1, 2], [0, 0])], CreaseError, 1, "misses the paper or only touches its rim"),
        ([crease([0, 1], [1, 1], [0, 0])], CreaseError, 1, "misses the paper or only touches its rim"),
        ([HALF, crease(["3/4", 2], [1, 2], [0, 3])], NothingMovesError, 2, "moves nothing"),
        ([HALF, HALF], NothingMovesError, 2, "moves nothing"),
        ([crease([0, 1], [1, 0], [2, 2]), crease([0, 1], [1, 0], [0, 0])], CreaseError, 2, "misses the paper"),
        ([HALF, crease([0, "1/2"], [1, "1/2"], [1, 1], layers=3)], LayersError, 2, "takes 3 layers, but fewer"),
        ([crease([0, "1/2"], [1, "1/2"], [2, 2], layers=1)], LayersError, 1, "takes 1 layers, but fewer"),
        ([HALF, crease(["1999/2000", 0], ["1999/2000", 1], [1, 0])], SliverError, 2, "narrower than a thousandth"),
    ],
)
def test_what_paper_cannot_do_is_refused_with_the_fold_and_a_sentence(folds, error, number, says):
    with pytest.raises(FoldError, match=says) as caught:
        folded(*folds)
    assert type(caught.value) is error
    assert caught.value.fold == number
    assert caught.value.punch is None
    assert f"old {number}" in str(caught.value)
    assert str(caught.value).endswith(".")


def test_a_strip_of_just_a_thousandth_is_folded():
    assert len(folded(crease(["999/1000", 0], ["999/1000", 1], [1, 0])).states[-1].faces) == 2


def test_a_sheet_folded_eight_times_is_two_hundred_and_fifty_six_layers():
    folds = [
        Fold(crease=((w, F(0)), (w, F(1))), moves=(2 * w, F(0)))
        if k % 2
        else Fold(crease=((F(0), w), (F(1), w)), moves=(F(0), 2 * w))
        for k in range(8)
        for w in [F(1, 2 ** (k // 2 + 1))]
    ]
    state = fold_sheet(Sheet(), tuple(folds)).states[-1]
    assert len(state.faces) == 256
    assert state.outline.area == pytest.approx(1 / 256)
