"""The unfolding step by step, and a wrong option marked: mirror lines, copies, ties and rings, read back."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot
from typing import Any

import numpy as np
import pytest
import shapely
import shapely.affinity

from geometry.pictures import THEMES, draw_marked_option, draw_steps
from geometry.pictures.marked import find_fault
from geometry.unfolding import Unfolding
from tests.geometry.gallery import GALLERY, at_random, drawn
from tests.geometry.svg_reading import Read, read_svg

SCREEN = THEMES["screen"]


def read_steps(unfolding: Unfolding) -> list[Read]:
    left, _, _, top = unfolding.folded.states[0].outline.bounds
    return [read_svg(picture.svg, left=left, top=top) for picture in draw_steps(unfolding)]


def openings(unfolding: Unfolding):
    """Each opening's crease with its picture."""
    return zip(reversed(unfolding.folded.creases), read_steps(unfolding)[1:], strict=True)


def old_and_new(read: Read) -> tuple[shapely.Geometry, shapely.Geometry]:
    new = [m.region for m in read.marks if m.fill == SCREEN.blue and m.stroke is None]
    return read.filled(SCREEN.hole), shapely.union_all(new, grid_size=1e-9)


def test_one_picture_folded_and_one_for_each_opening_last_fold_first():
    titles = [picture.title for picture in draw_steps(drawn("three"))]
    assert titles == ["Folded and punched", "Opening fold 3", "Opening fold 2", "Opening fold 1"]


@pytest.mark.parametrize("name", GALLERY)
def test_after_the_last_opening_all_holes_are_the_answer(name):
    unfolding = drawn(name)
    old, new = old_and_new(read_steps(unfolding)[-1])
    answer = shapely.union_all([hole.region for hole in unfolding.holes()], grid_size=1e-9)
    shown = shapely.union_all([old, new], grid_size=1e-9)
    assert shapely.symmetric_difference(shown, answer, grid_size=1e-9).area <= 2 * answer.length / 8400


def test_old_and_new_together_are_the_holes_of_each_state():
    """Of all-layers folds every hole goes through all the paper, so what is dark is what the engine says."""
    for unfolding in at_random(10, flaps=False):
        for crease, read in openings(unfolding):
            old, new = old_and_new(read)
            shown = shapely.union_all([old, new], grid_size=1e-9)
            true = shapely.union_all([h.region for h in unfolding.holes(crease.number - 1)], grid_size=1e-9)
            assert shapely.symmetric_difference(shown, true, grid_size=1e-9).area <= 2 * true.length / 8400 + 1e-6


def test_new_copies_are_mirror_images_in_the_mirror_line():
    for name in ("half", "behind", "three", "rectangle", "hexagon"):
        for crease, read in openings(drawn(name)):
            old, new = old_and_new(read)
            image = shapely.transform(new, crease.motion.carry_xy)
            left_over = shapely.difference(image, old.buffer(2 / 8400), grid_size=1e-9)
            assert left_over.area <= 1e-6


def test_the_mirror_line_lies_on_the_crease():
    for name in GALLERY:
        for crease, read in openings(drawn(name)):
            (mark,) = [
                m for m in read.stroked(SCREEN.blue, dashed=True) if len(m.attributes["stroke-dasharray"].split()) == 4
            ]
            a, b, c = (float(v) for v in crease.line)
            assert np.abs(mark.lines[0] @ (a, b) + c).max() / hypot(a, b) < 2 / 8400


def ties(read: Read) -> list[np.ndarray]:
    return [line for m in read.stroked(SCREEN.blue, dashed=False) for line in m.lines]


@pytest.mark.parametrize("name", ["half", "three", "behind", "rectangle"])
def test_ties_cross_the_mirror_line_squarely_and_half_way(name):
    """A hole and its mirror image are equally far from the crease: common practice, no published source."""
    for crease, read in openings(drawn(name)):
        across = [line for line in ties(read) if len(line) == 2 and np.prod(distances(crease, line)) < -1e-6]
        assert len(across) == len(shapely.get_parts(old_and_new(read)[1]))
        for line in across:
            assert sum(distances(crease, line)) == pytest.approx(0, abs=4 / 8400)
            squarely = abs(np.diff(distances(crease, line))[0]) / hypot(*(line[1] - line[0]))
            assert squarely == pytest.approx(1, abs=1e-2)


def distances(crease, line: np.ndarray) -> np.ndarray:
    a, b, c = (float(v) for v in crease.line)
    return (line @ (a, b) + c) / hypot(a, b)


def test_ties_end_at_the_rims_of_what_they_join():
    for name in ("half", "three"):
        for _, read in openings(drawn(name)):
            holes = shapely.union_all(list(old_and_new(read)), grid_size=1e-9)
            for line in ties(read):
                assert shapely.intersection(shapely.LineString(line), holes).length < 1e-3


def test_ticks_of_a_tie_are_equal_and_one_on_each_half():
    read = read_steps(drawn("half"))[1]
    ticks = [line for line in ties(read) if len(line) == 2 and abs(line[1] - line[0])[0] < 1e-6]
    assert len(ticks) == 2
    assert len({round(hypot(*(line[1] - line[0])), 3) for line in ticks}) == 1
    assert sorted(np.sign(line.mean(axis=0)[0] - 0.5) for line in ticks) == [-1, 1]
    assert [line for line in ties(read) if len(line) == 3]  # the right angle


def test_a_hole_of_one_layer_shows_the_paper_beneath():
    """With the flap open again, the star's hole in it lies over paper: no dark, but its outline is drawn."""
    opened = read_steps(drawn("flap"))[1]
    old, new = old_and_new(opened)
    assert shapely.contains_xy(old, 5 / 8, 1 / 2)
    assert not shapely.contains_xy(shapely.union_all([old, new]), 7 / 8, 1 / 2)
    rims = [line for m in opened.stroked(SCREEN.blue, dashed=False) for line in m.lines if len(line) > 8]
    assert [abs(line.mean(axis=0) - (7 / 8, 1 / 2)).max() < 0.03 for line in rims] == [True]
    tint = opened.filled(SCREEN.turned_opened)
    assert shapely.contains_xy(tint, 7 / 8, 1 / 4)
    assert not shapely.contains_xy(shapely.union_all([tint, opened.filled(SCREEN.front_opened)]), 7 / 8, 1 / 2)


def test_a_hole_under_the_flap_is_hidden_when_the_flap_is_open():
    opened = read_steps(drawn("flap"))[1]
    old, new = old_and_new(opened)
    assert not shapely.contains_xy(shapely.union_all([old, new]), 7 / 8, 1 / 4)


def test_a_hole_carried_over_leaves_its_old_place_dotted():
    read = read_steps(drawn("corner"))[1]
    assert not [m for m in read.stroked(SCREEN.ghost, dashed=True) if len(m.lines[0]) > 8]
    flap = read_steps(drawn("flap"))[-1]  # the first fold opened: the flap's star goes over with its paper
    dotted = [line for m in flap.stroked(SCREEN.ghost, dashed=True) for line in m.lines if len(line) > 8]
    assert any(abs(line.mean(axis=0) - (7 / 8, 1 / 2)).max() < 0.05 for line in dotted)


# --- a wrong option ------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Mistake:
    fold: int
    before: bool = False
    line: tuple[tuple[float, float], tuple[float, float]] | None = None


class Shown:
    """An option as the drawing reads it; ``fold`` is the one whose opening went wrong."""

    def __init__(self, label: str, holes: tuple[shapely.Polygon, ...], fold: int | None, **mistake: Any):
        self.label, self.holes = label, holes
        self.mistakes = () if fold is None else (Mistake(fold, **mistake),)


def answer(unfolding: Unfolding) -> list[shapely.Polygon]:
    return [hole.region for hole in unfolding.holes()]


def made_at(unfolding: Unfolding, fold: int) -> int:
    """The place of a hole that opening this fold made and no later opening copied."""
    return next(i for i, hole in enumerate(unfolding.holes()) if hole.folds[:1] == (fold,))


def read_marked(unfolding: Unfolding, option: Shown) -> Read:
    return read_svg(draw_marked_option(unfolding, option).svg)


def test_the_key_is_left_unmarked():
    unfolding = drawn("three")
    picture = draw_marked_option(unfolding, Shown("D", tuple(answer(unfolding)), None))
    read = read_svg(picture.svg)
    assert len(read.marks) == 2
    assert picture.title == "Option D, right"


@pytest.mark.parametrize("fold", [1, 2, 3])
def test_a_missing_copy_is_dotted_and_ringed(fold):
    unfolding = drawn("three")
    holes = answer(unfolding)
    place = holes.pop(made_at(unfolding, fold))
    read = read_marked(unfolding, Shown("A", tuple(holes), fold))
    (ring,) = read.stroked(SCREEN.red)
    (true,) = read.stroked(SCREEN.ink, dashed=True)
    assert shapely.Polygon(ring.lines[0]).buffer(0).covers(place.buffer(-1e-3))
    assert shapely.Polygon(true.lines[0]).centroid.distance(place.centroid) < 1e-3
    assert not [m for m in read.marks if m.fill == SCREEN.red_tint]


@pytest.mark.parametrize("fold", [1, 2, 3])
def test_the_wrong_copy_is_tinted_and_its_true_place_dotted(fold):
    unfolding = drawn("three")
    holes = answer(unfolding)
    i = made_at(unfolding, fold)
    true = holes[i]
    holes[i] = shapely.affinity.rotate(true, 90)
    read = read_marked(unfolding, Shown("A", tuple(holes), fold))
    (wrong,) = [m for m in read.marks if m.fill == SCREEN.red_tint]
    assert wrong.region.centroid.distance(holes[i].centroid) < 1e-3
    (ring,) = read.stroked(SCREEN.red)
    assert shapely.Polygon(ring.lines[0]).buffer(0).covers(holes[i].buffer(-1e-3))
    assert shapely.Polygon(read.stroked(SCREEN.ink, dashed=True)[0].lines[0]).centroid.distance(true.centroid) < 1e-3
    dark = read.filled(SCREEN.hole)
    assert dark.area == pytest.approx(sum(h.area for h in holes) - holes[i].area, abs=2e-3)


def test_of_many_wrong_copies_the_one_of_the_first_wrong_opening_is_marked():
    """Wrong at fold 3, the fault is copied by folds 2 and 1: the copy marked is one that only fold 3 made."""
    unfolding = drawn("three")
    holes = list(unfolding.holes())
    shift = {(3,): 0.03, (1, 3): 0.01}  # the copied fault looks nearer to right
    shown = [shapely.affinity.translate(h.region, shift.get(h.folds, 0.0)) for h in holes]
    for start in range(len(shown)):
        fault = find_fault(unfolding, Shown("A", tuple(shown[start:] + shown[:start]), 3))
        assert fault is not None
        assert fault.true is not None
        assert any(h.region.equals(fault.true) and h.folds == (3,) for h in holes)


def test_a_hole_too_many_is_ringed():
    unfolding = drawn("half")
    extra = shapely.affinity.translate(answer(unfolding)[0], 0, 0.4)
    fault = find_fault(unfolding, Shown("A", (*answer(unfolding), extra), 1))
    assert fault is not None
    assert (fault.true, fault.wrong) == (None, extra)


def test_the_mirror_line_is_that_of_the_first_wrong_fold():
    unfolding = drawn("three")
    holes = answer(unfolding)
    holes.pop(made_at(unfolding, 2))
    read = read_marked(unfolding, Shown("A", tuple(holes), 2))
    a, b, c = (float(v) for v in unfolding.folded.creases[1].line)
    (line,) = [m.lines[0] for m in read.stroked(SCREEN.blue)]
    assert np.abs(line @ (a, b) + c).max() / hypot(a, b) < 2 / 8400


def test_the_mirror_line_keeps_to_the_sheet():
    """Folded beyond its own square, the paper has a crease off the sheet; on the flat sheet nothing lies there."""
    unfolding = drawn("beyond")
    read = read_marked(unfolding, Shown("A", (), 1))
    (line,) = [m.lines[0] for m in read.stroked(SCREEN.blue)]
    assert line.min() > -0.07
    assert line.max() < 1.07


def test_a_line_mirrored_in_by_mistake_is_drawn_in_red():
    unfolding = drawn("half")
    moved = shapely.affinity.translate(answer(unfolding)[1], 0.1, 0)
    wrong = Shown("A", (answer(unfolding)[0], moved), 1, line=((0.55, 0.0), (0.55, 1.0)))
    (line,) = [m.lines[0] for m in read_marked(unfolding, wrong).stroked(SCREEN.red, dashed=True)]
    assert np.abs(line[:, 0] - 0.55).max() < 2 / 8400


def test_a_mistake_before_any_opening_has_no_mirror_line():
    unfolding = drawn("three")
    holes = answer(unfolding)
    i = next(i for i, hole in enumerate(unfolding.holes()) if hole.folds == ())
    true, holes[i] = holes[i], shapely.affinity.rotate(holes[i], 90)
    option = Shown("A", tuple(holes), 3, before=True)
    picture = draw_marked_option(unfolding, option)
    assert not read_svg(picture.svg).stroked(SCREEN.blue)
    assert "It goes wrong before fold 3 opens" in picture.description
    fault = find_fault(unfolding, option)
    assert fault is not None
    assert fault.true == true


def test_what_is_said_of_a_marked_option_names_the_fold():
    unfolding = drawn("three")
    holes = answer(unfolding)
    holes.pop(made_at(unfolding, 2))
    said = draw_marked_option(unfolding, Shown("A", tuple(holes), 2)).description
    assert said == (
        "Option A, a sheet of paper with seven holes. "
        "It goes wrong when fold 2 opens: a hole is missing at the ringed place."
    )
