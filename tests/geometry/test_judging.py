"""An option set from elsewhere: what the spec can tell is found anew, what is wrong with it is said."""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction
from functools import cache

import pytest
import shapely

from geometry.errors import FoldError, OptionSetError
from geometry.generation import generate
from geometry.judging import judge
from geometry.mistakes import OWN
from geometry.option_sets import Option, OptionSet, make_options
from geometry.spec import Spec, read_spec
from tests.small_school import SPECS, spec_of


@cache
def teaching() -> OptionSet:
    return make_options(read_spec(spec_of(*SPECS[0])), seed=1)


def sent(option_set: OptionSet) -> OptionSet:
    """The set as it comes out of a file."""
    return OptionSet.from_json(json.loads(json.dumps(option_set.to_json())))


def changed(label: str, **changes) -> list[Option]:
    return [replace(o, **changes) if o.label == label else o for o in teaching().options]


def wrong_label() -> str:
    return next(o.label for o in teaching().options if o.mistakes)


@pytest.mark.parametrize("parts", SPECS[:3])
def test_an_honest_set_is_found_again_whole(parts):
    honest = make_options(read_spec(spec_of(*parts)), seed=3)
    assert judge(honest.spec, sent(honest).options).to_json() == honest.to_json()


def test_a_set_drawn_by_lot_keeps_its_pictures_and_counts_as_practice():
    ((spec, drawn),) = generate(count=1, seed=5)
    found = judge(spec, sent(drawn).options)
    assert (drawn.sets, found.sets, found.guessability is not None) == ("lot", "teaching", True)
    assert [o.holes for o in found.options] == [o.holes for o in drawn.options]
    assert (found.key, found.fingerprint) == (drawn.key, drawn.fingerprint)


def test_a_lie_about_a_mistake_is_put_right():
    label = wrong_label()
    told = teaching().option(label).mistakes[0]
    lied = changed(label, mistakes=(replace(told, kind="carried", says="Because I say so."),))
    assert judge(teaching().spec, lied).option(label).mistakes == teaching().option(label).mistakes


def test_a_key_that_is_not_what_the_sheet_shows_is_refused():
    key, wrong = teaching().key, wrong_label()
    swapped = {key: teaching().option(wrong).holes, wrong: teaching().option(key).holes}
    lied = [replace(o, holes=swapped.get(o.label, o.holes)) for o in teaching().options]
    with pytest.raises(OptionSetError, match=f"Option {key} should be the only right one; found: {wrong}"):
        judge(teaching().spec, lied)


def test_two_right_options_are_refused():
    lied = changed(wrong_label(), holes=teaching().option(teaching().key).holes)
    with pytest.raises(OptionSetError, match="should be the only right one"):
        judge(teaching().spec, lied)


BOWTIE = shapely.Polygon([(0.2, 0.2), (0.4, 0.4), (0.4, 0.2), (0.2, 0.4)])
OFF = shapely.Polygon([(0.9, 0.9), (1.1, 0.9), (0.9, 1.1)])
SMALL = shapely.Polygon([(0.1, 0.1), (0.11, 0.1), (0.1, 0.11)])


@pytest.mark.parametrize(
    ("holes", "says"),
    [
        ((BOWTIE,), "hole 1: its outline crosses itself"),
        ((SMALL, OFF), "hole 2 is not on the sheet"),
        ((), "shows 0 holes"),
        ((SMALL,) * 301, "shows 301 holes"),
    ],
)
def test_pictures_that_no_sheet_shows_are_refused(holes, says):
    with pytest.raises(OptionSetError, match=says):
        judge(teaching().spec, changed(wrong_label(), holes=holes))


def mistaken(**changes) -> list[Option]:
    label = wrong_label()
    return changed(label, mistakes=(replace(teaching().option(label).mistakes[0], **changes),))


def test_mistakes_that_are_not_there_are_refused():
    spec, options = teaching().spec, list(teaching().options)
    keyless = [replace(o, mistakes=teaching().option(wrong_label()).mistakes) for o in options]
    for given, says in (
        (mistaken(kind="clumsy"), "“clumsy” is no mistake that is known here"),
        (mistaken(fold=2), "a mistake at fold 2, which is not there"),
        (keyless, "One option, the key, has no mistake"),
        (options[::-1], "must be A, B, C, D and E"),
        ([*options, options[4]], "must be A, B, C, D and E"),
    ):
        with pytest.raises(OptionSetError, match=says):
            judge(spec, given)


def test_a_draft_may_want_options_and_a_picture_made_by_hand_stays_called_so():
    known = [o for o in teaching().options if not o.mistakes or o.label == wrong_label()]
    two = [replace(o, label=label) for label, o in zip("AB", known, strict=True)]
    own = [replace(o, mistakes=tuple(replace(m, kind=OWN) for m in o.mistakes)) for o in two]
    found = judge(teaching().spec, own)
    assert [m.kind for o in found.options for m in o.mistakes] == [OWN]
    assert next(check.name for check in found.checks() if not check.ok) == "five options"


def test_paper_that_cannot_be_folded_so_is_refused():
    spec = read_spec(spec_of([("0 0", "3 3")], ("disc", "1/2 1/2", "1/10")))
    with pytest.raises(FoldError):
        judge(spec, teaching().options)


def test_a_sheet_without_folds_or_punches_is_refused():
    bare = Spec(teaching().spec.sheet, (), teaching().spec.punches)
    with pytest.raises(OptionSetError, match="at least one fold and one punch"):
        judge(bare, teaching().options)


def test_more_holes_than_a_sheet_can_hold_are_refused_at_once():
    """Eight halvings put 256 layers under each of two punches."""
    folds, corner = [], [Fraction(0), Fraction(0)]
    for number in range(8):
        axis = number % 2
        here = ["1", "1"]
        here[axis] = str(corner[axis])
        folds.append({"bring": here, "to": ["1", "1"]})
        corner[axis] = (corner[axis] + 1) / 2
    punches = [{"shape": "disc", "at": [x, "31/32"], "size": "1/200"} for x in ("31/32", "63/64")]
    spec = read_spec({"version": 1, "sheet": {"kind": "square"}, "folds": folds, "punches": punches})
    with pytest.raises(OptionSetError, match="would show 512 holes; 300 can be"):
        judge(spec, teaching().options)
