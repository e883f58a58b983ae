"""From a refusal to a question by one press: where a punch fits, what follows the paper, what a button mends."""

from __future__ import annotations

from fractions import Fraction

import pytest

from accounts.models import User
from bank.forms.mending import follow, mend_for, mended, new_punch, what_changed
from bank.forms.typed import FOLD, blank_sheet, changed
from bank.forms.workbench import Workbench
from bank.models import Question
from geometry.checks import CLEAR, PRINTED
from tests.bank.factories import typed_halves
from tests.bank.pages import parse, said, typed_in, words

NEAR_CREASE = {"punch-0-at": "7/12, 3/4"}  # 1/12 from the crease, and the disc's radius is 1/12: they touch
OFF = {"punch-0-at": "1/8, 1/8"}


def checks_of(bench: Workbench) -> list:
    assert bench.option_set is not None, bench.fault
    return list(bench.option_set.checks())


def failed(bench: Workbench) -> list[str]:
    return [check.name for check in checks_of(bench) if not check.ok]


@pytest.mark.parametrize(("shape", "size"), [("disc", "1/40"), ("star", "0.04"), ("crescent", "1/16")])
def test_a_hole_too_small_to_be_read_is_made_larger_where_it_is(shape: str, size: str) -> None:
    bench = Workbench(blank_sheet() | {"punch-0-shape": shape, "punch-0-size": size})
    assert failed(bench) == ["holes are legible"]
    mend = mend_for(bench, checks_of(bench))
    assert mend is not None
    assert mend.label == "Make it larger"
    after = Workbench(mended(bench, 0))
    assert failed(after) == []
    assert what_changed(bench, after) == "Punch 1 was made larger (1/12)."


@pytest.mark.parametrize("place", ["right", "top", "top-right", "bottom-left"])
def test_a_punch_that_nobody_placed_follows_the_paper(place: str) -> None:
    bench = follow(blank_sheet() | {"fold-0-place": place}, None)
    assert not bench.fault
    assert failed(bench) == []


def test_a_punch_that_a_teacher_placed_stays_where_it_was_put() -> None:
    typed = blank_sheet() | {"fold-0-place": "right", "punch-0-at": "13/16, 3/4"}
    bench = follow(typed, None)
    assert bench.typed["punch-0-at"] == "13/16, 3/4"
    assert bench.fault == "Punch 1 does not touch the folded paper."


@pytest.mark.parametrize("by_hand", [{"punch-0-size": "1/2"}, {"punch-0-turn": "90", "punch-0-at": "3/4, 5/8"}])
def test_a_punch_that_a_teacher_sizes_or_turns_does_not_run_away(by_hand: dict[str, str]) -> None:
    typed = blank_sheet() | by_hand
    assert follow(typed, None).typed == typed


def test_the_preview_takes_the_punch_along_and_sends_its_new_place(client_of, teacher: User) -> None:
    answer = client_of(teacher).post("/bank/preview/", blank_sheet() | {"fold-0-place": "right"})
    assert answer.status_code == 200
    (place,) = parse(answer).xpath("//*[@id='place-of-punch-0']//input[@name='punch-0-at']/@value")
    x, y = (Fraction(part) for part in place.split(","))
    assert 0 < x < Fraction(1, 2) < y < 1  # on the quarter that is left: the upper left one
    assert "place-of-punch-0" not in client_of(teacher).post("/bank/preview/", blank_sheet()).content.decode()


@pytest.mark.parametrize("kind", ["square", "triangle", "hexagon", "disc"])
@pytest.mark.parametrize("folds", [("left", "bottom"), ("top-right",), ("right", "top-left")])
def test_new_punches_are_clear_of_edges_creases_and_each_other(kind: str, folds: tuple[str, ...]) -> None:
    """Two of them, or one where there is no room for more; a millimetre in print, as the check asks."""
    typed = changed(blank_sheet() | {"sheet-kind": kind, "folds": str(len(folds))}, "remove-punch-0")
    typed |= {f"fold-{n}-place": place for n, place in enumerate(folds)}
    for count in (1, 2):
        place = new_punch(Workbench(typed))
        assert place is not None
        typed = changed(typed, "add-punch", place=place._asdict())
        bench = Workbench(typed)
        assert not {"holes are clear", "holes are legible"} & set(failed(bench)), (count, place)


def test_a_punch_off_the_paper_is_put_on_it_by_one_press(client_of, teacher: User) -> None:
    client = client_of(teacher)
    page = parse(client.post("/bank/new/", typed_halves() | OFF))
    assert "Put it on the paper" in said(page, "mat-says")
    (deed,) = page.xpath("//*[@id='mat-says']//button[contains(., 'Put it')]/@value")
    after = parse(client.post("/bank/new/", typed_halves() | OFF | {"do": deed}))
    assert "Punch 1 was moved to" in words(after, "//*[@data-snap-says]")[0]
    assert said(after, "mat-says") == ""
    assert failed(Workbench(typed_in(after))) == []


def test_a_punch_too_near_a_crease_moves_no_farther_than_it_must() -> None:
    """By hand: the disc of 1/6 must be 1/12 and a millimetre of 30 off the crease, so 7/60; the next 24th is 3/24."""
    bench = Workbench(typed_halves() | NEAR_CREASE)
    assert failed(bench)[0] == "holes are clear"
    mend = mend_for(bench, checks_of(bench))
    assert mend is not None
    assert (mend.deed, mend.label) == ("mend-punch-0", "Move it clear")
    after = Workbench(mended(bench, 0))
    assert failed(after) == []
    x = Fraction(after.typed["punch-0-at"].split(",")[0])
    assert x - Fraction(1, 2) == Fraction(3, 24) >= Fraction(1, 12) + Fraction(CLEAR / PRINTED).limit_denominator(60)
    assert after.typed["punch-0-size"] == bench.typed["punch-0-size"]


def test_a_punch_that_has_no_room_is_made_smaller() -> None:
    quarters = {"fold-0-depth": "1/4", "fold-1-place": "right", "fold-1-depth": "1/4"}
    bench = Workbench(typed_halves(punch__0__size="1/3") | quarters | {"punch-0-at": "1/2, 1/2"})
    after = Workbench(mended(bench, 0))
    assert failed(after) == []
    assert Fraction(after.typed["punch-0-size"]) <= Fraction(1, 3)


def test_where_no_punch_has_room_a_fold_is_taken_away() -> None:
    """By hand: four halvings leave 1.9 of 30 mm, not even a millimetre on each side; three leave 3.75."""
    typed = blank_sheet() | {"folds": "4"}
    for n in range(4):
        typed |= {f"fold-{n}-{name}": value for name, value in FOLD.items()} | {f"fold-{n}-place": "left"}
    bench = follow(typed, None)
    mend = mend_for(bench, checks_of(bench))
    assert mend is not None
    assert (mend.deed, mend.label) == ("remove-fold-3", "Take fold 4 away")
    assert "no room" in mend.says
    assert failed(follow(changed(bench.typed, mend.deed), None)) == []


def test_a_shape_that_shows_too_few_mistakes_gives_way_to_one_that_does() -> None:
    """A triangle folded in half across its height: a star is its own mirror image, and tells too little."""
    typed = blank_sheet() | {"sheet-kind": "triangle", "folds": "1", "fold-0-place": "top", "punch-0-shape": "star"}
    bench = follow(typed, None)
    assert not bench.has_five
    mend = mend_for(bench, checks_of(bench))
    assert mend is not None
    assert mend.label == "Try another punch"
    assert mend.says.endswith("Use a shape that is not its own mirror image, or a second punch of another shape.")
    after = Workbench(mended(bench, 0))
    assert failed(after) == []
    assert what_changed(bench, after) == "Punch 1 was changed to an L-piece."


def test_what_no_punch_mends_stays_as_it_lies(client_of, teacher: User) -> None:
    """A notch in the lower edge of a triangle whose top is folded down by a third: no punch offers four mistakes."""
    fold = {"sheet-kind": "triangle", "folds": "1", "fold-0-place": "top", "fold-0-depth": "1/3"}
    typed = blank_sheet() | fold | {"punch-0-at": "1/12, 0", "do": "mend-punch-0"}
    page = parse(client_of(teacher).post("/bank/new/", typed))
    assert typed_in(page)["punch-0-at"] == "1/12, 0"
    assert "No other punch was found that mends it: change a fold, or take one away." in said(page, "mat-says")


def test_a_refused_save_takes_the_cursor_and_offers_what_mends_it(client_of, teacher: User) -> None:
    page = parse(client_of(teacher).post("/bank/new/", typed_halves() | NEAR_CREASE | {"do": "save-ready"}))
    (message,) = page.xpath("//*[@data-not-saved]")
    assert message.get("autofocus") is not None
    assert message.get("tabindex") == "-1"
    assert message.xpath(".//button/@value") == ["mend-punch-0", "save-draft"]
    assert Question.objects.count() == 0


def test_a_refusal_for_want_of_options_says_why_they_are_wanting(client_of, teacher: User) -> None:
    typed = blank_sheet() | {"sheet-kind": "triangle", "folds": "1", "fold-0-place": "top", "punch-0-shape": "star"}
    page = parse(client_of(teacher).post("/bank/new/", typed | {"do": "save-ready"}))
    (message,) = words(page, "//*[@data-not-saved]/span")
    assert message.startswith("This question cannot be made ready yet. Only 2 wrong pictures differ visibly")
    assert "There is no wrong option" not in message


def test_what_is_heard_stands_outside_what_is_swapped(client_of, teacher: User) -> None:
    """A screen reader tells what changes in a place it knows, not what comes with a new place."""
    client = client_of(teacher)
    (heard,) = parse(client.get("/bank/new/")).xpath("//*[@id='bench-heard']")
    assert not heard.xpath("ancestor::form")
    assert heard.text_content().strip() == ""
    answer = client.post("/bank/new/", typed_halves() | {"do": "add-fold"}, headers={"HX-Request": "true"})
    assert said(parse(answer), "bench-heard").startswith("Unfolded: ")


@pytest.mark.parametrize("deed", ["mend-punch-9", "mend-punch-", "mend-fold-0"])
def test_a_mend_of_what_is_not_there_loses_nothing(client_of, teacher: User, deed: str) -> None:
    after = typed_in(parse(client_of(teacher).post("/bank/new/", typed_halves() | {"do": deed})))
    assert {name: after[name] for name in typed_halves() if name in after} == {
        name: value for name, value in typed_halves().items() if name in after
    }
