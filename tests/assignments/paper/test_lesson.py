"""Lesson sheets: what is cut out and folded is the question's paper."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from assignments.paper.editions import Edition
from assignments.paper.lesson import CAUTION, make_lesson_sheets
from assignments.paper.shuffles import arrange
from geometry.fold_format import write_fold
from geometry.pictures.cut_out import draw_cut_out, fold_lines, marks_on_top
from geometry.spec import read_spec
from geometry.unfolding import unfold
from tests.assignments.paper.material import HEADING, texts, versions
from tests.small_school import SPECS, spec_of

UNFOLDINGS = [unfold(read_spec(spec_of(*one))) for one in SPECS]


@pytest.mark.parametrize("unfolding", UNFOLDINGS, ids=range(len(SPECS)))
def test_fold_lines_are_those_of_the_crease_pattern(unfolding):
    """Against the edges of the FOLD file (FOLD 1.2: V a valley, M a mountain, seen from the front), by length."""
    pattern = write_fold(unfolding.spec, unfolding.folded)
    points = np.array(pattern["vertices_coords"])
    for letter, valley in (("V", True), ("M", False)):
        edges = [e for e, a in zip(pattern["edges_vertices"], pattern["edges_assignment"], strict=True) if a == letter]
        expected = shapely.MultiLineString([points[list(edge)] for edge in edges])
        found = shapely.MultiLineString([one.line for one in fold_lines(unfolding) if one.valley == valley])
        assert found.length == pytest.approx(expected.length)
        assert found.hausdorff_distance(expected) < 1e-9 if edges else found.is_empty


@pytest.mark.parametrize("unfolding", UNFOLDINGS, ids=range(len(SPECS)))
def test_every_fold_has_its_number_on_one_of_its_lines(unfolding):
    lines = fold_lines(unfolding)
    labels = draw_cut_out(unfolding).labels
    assert [label.fold for label in labels] == [fold + 1 for fold in range(len(unfolding.spec.folds))]
    for label in labels:  # a square's frame is 8/7 of it wide
        place = shapely.Point(label.across * 8 / 7 - 1 / 14, 1 - (label.down * 8 / 7 - 1 / 14))
        assert min(shapely.LineString(one.line).distance(place) for one in lines if one.fold == label.fold) < 1e-3


def test_punch_marks_on_the_sheet_are_holes_of_the_answer():
    """A mark on the printed side lies exactly where the unfolded sheet has a hole."""
    folds = [{"bring": ["0", "0"], "to": ["1", "0"], "way": "behind"}, {"bring": ["1", "1"], "to": ["3/4", "1"]}]
    punches = [
        {"shape": "heart", "at": ["5/8", "1/4"], "size": "1/8"},
        {"shape": "star", "at": ["13/16", "3/4"], "size": "1/12"},
    ]
    behind = unfold(read_spec({"version": 1, "sheet": {"kind": "square"}, "folds": folds, "punches": punches}))
    heart, star = marks_on_top(behind)  # the star lies on the left half, turned over twice
    holes = shapely.union_all([hole.region for hole in behind.holes()])
    assert holes.buffer(1e-6).covers(heart)
    assert holes.buffer(1e-6).covers(star)
    assert heart.centroid.coords[0] == pytest.approx(behind.punches[0].centroid.coords[0])
    assert star.centroid.x < 1 / 2
    assert all(marks_on_top(unfolding) == [] for unfolding in UNFOLDINGS), "folded over, paper shows its back"


def test_each_question_has_a_sheet_a_guide_and_the_caution_on_both():
    found = texts(make_lesson_sheets(HEADING, arrange(1, 1, versions(3)), Edition()))
    assert len(found) == 6
    for number, (sheet, guide) in enumerate(zip(found[::2], found[1::2], strict=True), 1):
        assert f"Question {number}: fold and punch it" in sheet
        assert f"Question {number}: guide for the punch" in guide
        for page in (sheet, guide):
            assert CAUTION in " ".join(page.replace("\u2019", "'").split())
