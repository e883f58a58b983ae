"""The workbench's fields: shown from a version they read back as that version; rows are added and taken away."""

from __future__ import annotations

import pytest

from accounts.models import School
from bank.forms.typed import blank_sheet, changed, shown
from bank.forms.workbench import Workbench
from bank.models import Question
from bank.services.questions import save_question
from geometry.option_sets import make_options
from geometry.spec import read_spec
from tests.bank.factories import DIAGONAL, HALVES, make_question, options_of, typed_halves

RECTANGLE = {
    "version": 1,
    "sheet": {"kind": "rectangle", "width": "4/3", "height": "1"},
    "folds": [
        {"crease": [["2/5", "0"], ["2/5", "1"]], "moves": ["0", "1/3"], "way": "behind", "layers": "all"},
        {"crease": [["4/5", "0"], ["6/5", "1"]], "moves": ["4/3", "0"], "way": "over", "layers": 1},
    ],
    "punches": [
        {
            "shape": "outline",
            "at": ["3/5", "1/2"],
            "size": "1/6",
            "turn": 22.5,
            "points": [["-1/2", "-1/2"], ["1/2", "-1/4"], ["0", "1/2"]],
        }
    ],
}


@pytest.mark.parametrize("spec", [HALVES, DIAGONAL], ids=["halves", "diagonal"])
def test_a_version_shown_reads_back_as_itself(school: School, spec: dict) -> None:
    question = make_question(school, spec=spec, tags=["b", "a"], note="Note")
    bench = Workbench(shown(question), question.current)
    assert bench.paper.unfolding.spec.to_json() == spec
    assert bench.option_set.to_json() == options_of(spec).to_json()
    assert bench.details.is_valid()
    assert bench.details.cleaned_data["tags"] == ["a", "b"]
    assert bench.details.cleaned_data["version"] == 1


def test_every_kind_of_sheet_fold_and_punch_reads_back(school: School) -> None:
    spec = read_spec(RECTANGLE)
    question = save_question(school=school, author=None, spec=spec, option_set=make_options(spec, seed=3))
    bench = Workbench(shown(Question.objects.get(pk=question.pk)), question.current)
    assert not bench.fault
    assert bench.paper.unfolding.spec == spec


def test_folds_of_the_tray_are_shown_as_such(school: School) -> None:
    typed = shown(make_question(school))
    assert (typed["fold-0-how"], typed["fold-0-place"], typed["fold-0-depth"]) == ("tray", "left", "1/2")
    assert (typed["fold-1-how"], typed["fold-1-place"]) == ("tray", "bottom")


def test_a_blank_sheet_is_a_whole_question() -> None:
    bench = Workbench(blank_sheet())
    assert not bench.fault
    assert bench.option_set is not None
    assert all(check.ok for check in bench.option_set.checks())


def test_rows_are_added_inserted_and_removed() -> None:
    typed = typed_halves()
    assert changed(typed, "add-fold")["folds"] == "3"
    inserted = changed(typed, "insert-fold-0")
    assert [inserted[f"fold-{n}-place"] for n in range(3)] == ["left", "bottom", "bottom"]
    assert inserted["step"] == "fold-1"
    removed = changed(typed, "remove-fold-0")
    assert (removed["folds"], removed["fold-0-place"], removed["step"]) == ("1", "bottom", "fold-0")
    assert "fold-1-place" not in removed
    added = changed(typed, "add-punch", place={"at": "1/2, 3/4", "size": "1/8"})
    assert (added["punches"], added["punch-1-at"], added["step"]) == ("2", "1/2, 3/4", "punch-1")
    assert added["punch-1-size"] == "1/8"
    assert changed(typed, "remove-punch-0")["punches"] == "0"


@pytest.mark.parametrize("deed", ["", "remove-fold-9", "add-fold-x", "remove-punch-٣", "drop"])
def test_deeds_that_mean_nothing_lose_nothing(deed: str) -> None:
    typed = typed_halves()
    after = changed(typed, deed)
    assert {name: after[name] for name in typed} == typed


@pytest.mark.parametrize("count", ["99", "-1", "x", "", "1" * 400])
def test_a_count_of_rows_that_lies_is_held_in_bounds(count: str) -> None:
    assert len(Workbench(typed_halves(folds=count)).folds) <= 8
    assert len(Workbench(typed_halves(punches=count)).punches) <= 24
