"""Unfolding: holes joined across creases, where they come from, and every answer against a folded point."""

from fractions import Fraction as F
from random import Random
from typing import Any

import numpy as np
import pytest
import shapely

from geometry.errors import GeometryError
from geometry.spec import read_spec
from geometry.unfolding import Unfolding, unfold
from tests.geometry.folded_points import folded
from tests.geometry.random_specs import random_spec

HALF = {"crease": [["1/2", 0], ["1/2", 1]], "moves": [0, 0]}
SECOND = {"crease": [[0, "1/2"], [1, "1/2"]], "moves": [0, 0]}


def solve(folds, punches) -> Unfolding:
    return unfold(
        read_spec({"version": 1, "sheet": {"kind": "square"}, "folds": list(folds), "punches": list(punches)})
    )


def punch(shape, x, y, size="1/8", **more) -> dict[str, Any]:
    return {"shape": shape, "at": [x, y], "size": size, **more}


def whole(solved: Unfolding, folds: int = 0):
    return shapely.unary_union([hole.region for hole in solved.holes(folds)], grid_size=1e-9)


def differ(one, other) -> float:
    return shapely.symmetric_difference(one, other, grid_size=1e-9).area


def all_layers(count: int) -> list[tuple[dict, Unfolding]]:
    """Random all-layers specs of convex sheets that paper allows."""
    found: list[tuple[dict, Unfolding]] = []
    seed = 5000
    while len(found) < count:
        seed += 1
        spec = random_spec(Random(seed), folds=(1, 4), flaps=0, convex=1)
        try:
            found.append((spec, unfold(read_spec(spec))))
        except GeometryError:
            continue
    return found


@pytest.fixture(scope="module")
def solved_specs():
    return all_layers(40)


def test_a_point_is_in_a_hole_when_its_folded_image_is_under_the_punch(solved_specs):
    """The whole of the theory in one line, with no polygons cut: reflect the point at each crease that moves it."""
    asked = 0
    for seed, (spec, solved) in enumerate(solved_specs):
        rng = np.random.default_rng(seed)
        sheet = shapely.Polygon([(x / w, y / w) for x, y, w in solved.spec.sheet.outline])
        low_x, low_y, high_x, high_y = sheet.bounds
        around = [shapely.Polygon(hole.rings[0]).exterior for hole in solved.holes()]
        near = np.concatenate([shapely.get_coordinates(ring) for ring in around])
        xy = np.concatenate(
            [rng.uniform((low_x, low_y), (high_x, high_y), (300, 2)), near + rng.normal(0, 0.02, near.shape)]
        )
        flat = xy[shapely.contains_xy(sheet, xy[:, 0], xy[:, 1])] @ np.array([1, 1j])
        at = folded(flat, spec["folds"])
        cut, shown = shapely.unary_union(list(solved.punches)), whole(solved)
        under = shapely.points(at.real, at.imag)
        clear = shapely.distance(under, cut.boundary) > 1e-6
        expected = shapely.contains_xy(cut, at.real, at.imag)[clear]
        assert (shapely.contains_xy(shown, flat.real, flat.imag)[clear] == expected).all(), spec
        asked += int(clear.sum())
    assert asked > 12_000


def test_an_answer_is_mirror_symmetric_in_the_first_crease_where_both_sides_have_paper(solved_specs):
    for _, solved in solved_specs:
        mirror = solved.folded.creases[0].motion
        sheet = shapely.Polygon([(x / w, y / w) for x, y, w in solved.spec.sheet.outline])
        both = shapely.intersection(sheet, shapely.transform(sheet, mirror.carry_xy), grid_size=1e-9)
        shown = shapely.intersection(whole(solved), both, grid_size=1e-9)
        assert differ(shown, shapely.transform(shown, mirror.carry_xy)) < 1e-6


def test_faces_and_holes_tile_the_sheet(solved_specs):
    """What is cut away from the layers is what is missing from the flat sheet, area for area."""
    for _, solved in solved_specs:
        faces = [shapely.Polygon(face.folded_xy) for face in solved.folded.states[-1].faces]
        cut = shapely.unary_union(list(solved.punches), grid_size=1e-9)
        lost = sum(shapely.intersection(face, cut, grid_size=1e-9).area for face in faces)
        assert sum(hole.region.area for hole in solved.holes()) == pytest.approx(lost, abs=1e-6)


def test_over_and_behind_give_the_same_holes(solved_specs):
    for spec, solved in solved_specs[:40]:
        other = {"over": "behind", "behind": "over"}
        folds = [fold | {"way": other[fold.get("way", "over")]} for fold in spec["folds"]]
        turned = unfold(read_spec(spec | {"folds": folds}))
        assert differ(whole(solved), whole(turned)) < 1e-6
        assert solved.layers == turned.layers


SYMMETRIES = [  # the dihedral group of order 8
    lambda x, y: (x, y),
    lambda x, y: (1 - y, x),
    lambda x, y: (1 - x, 1 - y),
    lambda x, y: (y, 1 - x),
    lambda x, y: (1 - x, y),
    lambda x, y: (x, 1 - y),
    lambda x, y: (y, x),
    lambda x, y: (1 - y, 1 - x),
]


@pytest.mark.parametrize("change", SYMMETRIES)
def test_a_spec_carried_by_a_symmetry_of_the_square_has_its_holes_carried(change):
    def moved(x, y):
        return [str(c) for c in change(F(x), F(y))]

    def holes(at):
        folds = [
            {"crease": [at("1/4", 0), at(1, "3/4")], "moves": at(1, 0), "layers": 1},
            {"bring": at(0, 1), "to": at("1/2", "1/2"), "way": "behind"},
        ]
        return whole(solve(folds, [{"shape": "disc", "at": at("3/8", "5/8"), "size": "1/6"}]))

    plain = shapely.transform(holes(lambda x, y: [str(x), str(y)]), lambda xy: np.column_stack(change(*xy.T)))
    assert differ(plain, holes(moved)) < 1e-7


@pytest.mark.parametrize(
    ("fold", "at", "turn"),
    [
        (HALF, ("1/2", "1/3"), 270),
        ({"crease": [[0, 0], [1, 1]], "moves": [0, 1]}, ("1/3", "1/3"), 225),
        ({"crease": [[0, "1/2"], [1, "1/2"]], "moves": [0, 0]}, ("1/3", "1/2"), 0),
    ],
    ids=["upright", "diagonal", "level"],
)
def test_a_half_disc_with_its_flat_side_on_the_crease_opens_to_one_disc(fold, at, turn):
    solved = solve([fold], [punch("half-disc", *at, size="1/4", turn=turn)])
    (hole,) = solved.holes()
    x, y = (float(F(c)) for c in at)
    assert hole.region.area == pytest.approx(2 * solved.punches[0].area, abs=1e-9)
    assert shapely.minimum_bounding_radius(hole.region) == pytest.approx(1 / 8, abs=1e-6)
    assert np.hypot(*(shapely.get_coordinates(hole.region) - (x, y)).T).min() > 1 / 8 - 1e-3
    assert hole.punch == 0
    assert len(hole.faces) == 2


def test_a_bow_punched_on_the_crease_opens_to_a_ring_with_paper_left_inside():
    bow = [
        [0, "-1/2"],
        ["1/2", "-1/2"],
        ["1/2", "1/2"],
        [0, "1/2"],
        [0, "1/4"],
        ["1/4", "1/4"],
        ["1/4", "-1/4"],
        [0, "-1/4"],
    ]
    (hole,) = solve([HALF], [punch("outline", "1/2", "1/2", "1/4", points=bow)]).holes()
    assert len(hole.region.interiors) == 1
    assert hole.region.area == pytest.approx((1 / 4) ** 2 * 3 / 4)
    assert shapely.Polygon(hole.region.interiors[0]).area == pytest.approx((1 / 8) ** 2)


def test_a_disc_over_the_folded_edge_makes_one_hole_and_over_the_rim_a_notch():
    (hole,) = solve([HALF], [punch("disc", "9/16", "1/2", "1/4")]).holes()  # 1/16 beyond the crease
    assert hole.region.bounds == pytest.approx((5 / 16, 3 / 8, 11 / 16, 5 / 8))
    notches = solve([HALF], [punch("disc", 1, "1/2", "1/4")]).holes()
    assert sorted(notch.region.bounds[0] for notch in notches) == pytest.approx([0, 7 / 8])
    assert sum(notch.region.area for notch in notches) == pytest.approx(shapely.Point(0, 0).buffer(1 / 8, 8).area)


def test_a_hole_knows_the_folds_whose_opening_made_it():
    holes = solve([HALF, SECOND], [punch("triangle", "7/8", "3/4")]).holes()
    places = {hole.folds: tuple(np.round(hole.region.centroid.coords[0], 1)) for hole in holes}
    assert set(places) == {(), (1,), (2,), (1, 2)}
    assert places[()][0] > 0.5 > places[(1,)][0]
    assert places[()][1] > 0.5 > places[(2,)][1]
    assert places[(1, 2)] == (places[(1,)][0], places[(2,)][1])


def test_holes_double_at_every_opening():
    solved = solve([HALF, SECOND], [punch("L-piece", "7/8", "3/4")])
    assert [len(solved.holes(k)) for k in (2, 1, 0)] == [1, 2, 4]
