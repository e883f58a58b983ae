"""The options arranged by hand: kept, drawn again, chosen, reordered, changed hole by hole; drafts short of five.

Where a picture is checked, it is against points folded and unfolded by hand for a square folded in half twice (the
triangle at 13/16, 11/16 shows at all four mirror images of its place), not against what the page says of itself.
"""

from __future__ import annotations

import pytest

from accounts.models import School, User
from bank.arranging import Token, arrange, own_holes, own_token, tokens_of
from bank.display import pictures_for
from bank.models import Question, Version
from geometry.handmade import HandHole, cuts_of, mark_of, own_mistake, read_holes
from geometry.marks import regions
from geometry.option_sets import OptionSet
from geometry.spec import read_spec
from geometry.unfolding import Unfolding, unfold
from tests.bank.factories import DIAGONAL, HALVES, make_question, options_of, typed_halves
from tests.bank.pages import parse, said, typed_in, words

WRONG = "//ol[contains(@class, 'at-bench')]/li[not(contains(@class, 'key'))]"


@pytest.fixture
def bench(client_of, teacher: User):
    """``bench(deed, typed)``: press a button of the workbench; returns the page and what then stands in its fields."""
    client = client_of(teacher)

    def press(deed: str, typed: dict[str, str] | None = None, **changes: str):
        response = client.post("/bank/new/", (typed or typed_halves()) | {"do": deed} | changes)
        assert response.status_code == 200
        page = parse(response)
        return page, typed_in(page)

    return press


@pytest.fixture(scope="module")
def halves() -> Unfolding:
    return unfold(read_spec(HALVES))


def wrong_places() -> list[int]:
    key = options_of(HALVES).key
    return [place for place, letter in enumerate("ABCDE") if letter != key]


def told(page) -> list[str]:
    return words(page, "//ol[contains(@class, 'at-bench')]/li//p[contains(@class, 'why')]")


def test_a_kept_option_stays_where_it_is_when_the_others_are_drawn_again(bench) -> None:
    place = wrong_places()[1]
    page, typed = bench(f"lock-option-{place}")
    before = told(page)
    assert typed[f"option-{place}"].startswith("lock ")
    page, _ = bench("other-options", typed)
    after = told(page)
    assert after[place] == before[place]
    assert after != before
    assert len(after) == 5


def test_another_changes_one_option_and_no_other(bench) -> None:
    place = wrong_places()[0]
    before = told(bench("show")[0])
    after = told(bench(f"another-option-{place}")[0])
    assert after[place] != before[place]
    assert [w for n, w in enumerate(after) if n != place] == [w for n, w in enumerate(before) if n != place]


def test_a_picture_is_chosen_from_those_that_tell_apart_and_is_kept(bench) -> None:
    place = wrong_places()[2]
    page, typed = bench(f"pick-option-{place}")
    offers = page.xpath("//button[@class='offer']")
    assert len(offers) > 5
    chosen = offers[4]
    page, typed = bench(chosen.get("value"), typed)
    assert told(page)[place] == words(chosen, ".//span[@class='quiet']")[0]
    assert typed[f"option-{place}"].startswith("lock ")
    assert not page.xpath("//button[@class='offer']")
    assert "Any two options differ visibly" in page.get_element_by_id("findings").text_content()


def test_options_change_places_with_all_that_belongs_to_them(bench) -> None:
    before = told(bench("show")[0])
    page, typed = bench("right-option-1")
    after = told(page)
    assert (after[1], after[2]) == (before[2], before[1])
    back = told(bench("left-option-2", typed)[0])
    assert back == before


def test_an_option_by_hand_is_checked_like_any_other_and_marked_as_the_teachers(bench) -> None:
    place = wrong_places()[0]
    page, typed = bench(f"edit-option-{place}")
    assert said(page, "says-own") == "As it was. Change a hole, add one or take one away."
    page, typed = bench("add-hole", typed)
    count = int(typed["holes"])
    page, typed = bench("show", typed, **{f"hole-{count - 1}-at": "1/2, 1/2"})
    assert said(page, "says-own") == "Changed by hand, and fit to be an option."
    page, typed = bench("close-desk", typed)
    assert typed[f"option-{place}"].startswith("own [")
    assert words(page, f"{WRONG}//span[@class='by-hand']") == ["yours"]
    checks = page.get_element_by_id("findings").text_content()
    assert "made by hand, is a sheet that could be" in " ".join(checks.split())
    again, _ = bench("other-options", typed)
    assert words(again, f"{WRONG}//span[@class='by-hand']") == ["yours"]


FAULTS = [
    ({"hole-0-at": "1, 1"}, "Hole 1 lies across the edge of the sheet, too near it, or off it."),
    ({"hole-0-at": "13/16, 5/16", "hole-1-at": "13/16, 5/16"}, "Holes 1 and 2 lie over one another."),
    ({"hole-0-at": "nowhere"}, "Hole 1: Place: “nowhere” is no point. Type two numbers, like 3/8, 3/4."),
    ({"hole-0-punch": "7"}, "Hole 1: What was chosen at “Shape” is not offered. Choose another."),
    ({"hole-0-turn": "1e400"}, "Hole 1: Turn: “1e400” is no number. Type one like 3/8 or 0.375."),
]


def test_a_fault_by_hand_is_told_and_what_was_typed_stays(bench) -> None:
    _, opened = bench(f"edit-option-{wrong_places()[0]}")
    for change, says in FAULTS:
        page, after = bench("show", opened, **change)
        assert says in said(page, "says-own")
        typed = {name: value for name, value in change.items() if name != "hole-0-punch"}  # a list holds what it can
        assert {name: after[name] for name in typed} == typed


def test_the_right_answer_by_hand_is_called_so_and_fails_the_check(bench, halves) -> None:
    """A triangle at 13/16, 11/16 in a square folded in half twice shows at its four mirror images (by hand)."""
    _, typed = bench(f"edit-option-{wrong_places()[0]}")
    right = {"13/16, 11/16": "0", "3/16, 11/16": "0", "13/16, 5/16": "180", "3/16, 5/16": "180"}
    rows = {"holes": "4"} | {f"hole-{n}-punch": "0" for n in range(4)}
    rows |= {f"hole-{n}-at": at for n, at in enumerate(right)} | {
        f"hole-{n}-turn": t for n, t in enumerate(right.values())
    }
    page, _ = bench("show", {n: v for n, v in typed.items() if not n.endswith("-over")}, **rows)
    assert said(page, "says-own") == "This is the right answer: change something."
    assert "should be the only right one" in page.get_element_by_id("findings").text_content()


def test_holes_are_read_off_a_picture_and_give_it_again() -> None:
    """Every hole of every option of two questions, turned and mirrored ones among them."""
    for spec in (HALVES, DIAGONAL):
        cuts = cuts_of(unfold(read_spec(spec)))
        for option in options_of(spec).options:
            read = read_holes(option.holes, cuts)
            assert all(hole.punch >= 0 for hole in read)
            again = regions([mark_of(hole, cuts) for hole in read])
            assert all(p.equals_exact(q, 1e-6) for p, q in zip(again, option.holes, strict=True))


def test_a_picture_by_hand_goes_wrong_where_its_first_wrong_hole_opens(halves: Unfolding) -> None:
    """Folded left to right, then up: the right half's lower hole comes by opening fold 2, the left half's by fold 1."""
    cuts = cuts_of(halves)
    true = [HandHole(0, (13 / 16, 11 / 16)), HandHole(0, (13 / 16, 5 / 16), 180), HandHole(0, (3 / 16, 11 / 16))]
    for holes, fold, before in (
        ([*true, HandHole(0, (1 / 4, 1 / 4), 180)], 1, False),
        ([*true[:1], *true[2:]], 2, False),
        (true[1:], 2, True),
    ):
        mistake = own_mistake(halves, regions([mark_of(hole, cuts) for hole in holes]))
        assert (mistake.kind, mistake.fold, mistake.before) == ("own", fold, before)


def test_a_hand_made_option_is_saved_shown_and_edited_again(client_of, teacher: User, bench) -> None:
    place = wrong_places()[0]
    _, typed = bench(f"edit-option-{place}")
    _, typed = bench("remove-hole-0", typed)
    client_of(teacher).post("/bank/new/", typed | {"do": "save-draft"})
    version = Question.objects.get().current
    assert version.options["options"][place]["mistakes"][0]["kind"] == "own"
    assert len(pictures_for([version])[version.pk].options) == 5
    page = parse(client_of(teacher).get(f"/bank/{version.question_id}/"))
    assert "made by hand" in page.text_content()
    page = parse(client_of(teacher).get(f"/bank/{version.question_id}/edit/"))
    assert words(page, f"{WRONG}//span[@class='by-hand']") == ["yours"]


def test_a_picture_that_cannot_come_about_any_more_is_told_when_it_was_kept(bench) -> None:
    place = wrong_places()[0]
    _, typed = bench(f"lock-option-{place}", typed_halves(folds="2"))
    page, after = bench("show", typed, folds="1")
    assert f"kept at {'ABCDE'[place]} cannot come about on this paper any more" in said(page, "says-options")
    assert after[f"option-{place}"] == typed[f"option-{place}"]  # nothing typed is lost: it is back with the fold


def test_an_edit_that_only_reorders_keeps_the_saved_pictures(school: School) -> None:
    version = make_question(school, spec=DIAGONAL, seed=5).current
    saved = OptionSet.from_json(version.options)
    tokens = [Token(text) for text in reversed(tokens_of(version))]
    arranged = arrange(unfold(read_spec(DIAGONAL)), tokens, saved=version).option_set
    assert [o.holes for o in arranged.options] == [o.holes for o in reversed(saved.options)]
    assert (arranged.guessability, arranged.key) == (saved.guessability, "ABCDE"[4 - "ABCDE".index(saved.key)])


@pytest.mark.parametrize(
    "text",
    ["own x", "own [[0,1]]", "own [[0,1e999,0,0,0,[]]]", "own " + "[" * 20_000, "saved Z", "1" * 12],
)
def test_a_token_that_cannot_be_read_is_drawn_for(halves: Unfolding, text: str) -> None:
    arrangement = arrange(halves, [Token(text), Token("key")])
    assert len(arrangement.option_set.options) == 5
    assert arrangement.option_set.key == "B"


def test_own_tokens_come_back_as_they_were() -> None:
    holes = (
        HandHole(0, (0.25, 0.5), 45.0, True),
        HandHole(-1, (0.5, 0.5), points=((0.0, 0.0), (0.1, 0.0), (0.0, 0.1))),
    )
    assert own_holes(own_token(holes)) == holes


def test_a_draft_is_saved_before_there_are_five_options_and_cannot_be_made_ready(client_of, teacher: User) -> None:
    client = client_of(teacher)
    refused = parse(client.post("/bank/new/", typed_halves(punches="0", do="save-ready")))
    assert "it can be saved as a draft" in words(refused, "//form[@id='bench']/p[contains(@class, 'error')]")[0]
    client.post("/bank/new/", typed_halves(punches="0", do="save-draft"))
    question = Question.objects.get()
    assert (question.state, question.current.offered) == ("draft", 1)
    for address in ("", "edit/", "board/"):
        assert client.get(f"/bank/{question.pk}/{address}").status_code == 200
    assert client.get("/bank/").status_code == 200
    client.post(f"/bank/{question.pk}/ready/")
    question.refresh_from_db()
    assert question.state == "draft"
    assert Version.objects.lacking_pictures().count() in (0, 1)
