"""The board: the openings in their order, each wrong option struck out at its first wrong step, links that lead on.

The angle by which a slanting crease is tilted is held against the slope of the crease as its spec gives it.
"""

from __future__ import annotations

import re
from math import atan2, cos, degrees, radians, sin

import pytest

from accounts.models import School, User
from bank.board import ANSWER, QUESTION, STEP, STRIKE, board_of
from bank.models import Question
from geometry.pictures import draw_steps, flap_turn
from geometry.spec import read_spec
from geometry.unfolding import unfold
from tests.bank.factories import DIAGONAL, keep_drawings, make_question, options_of
from tests.bank.pages import parse, words

SLANTING = {
    "version": 1,
    "sheet": {"kind": "square"},
    "folds": [{"crease": [["0", "1/2"], ["1", "1"]], "moves": ["0", "1"], "way": "over", "layers": "all"}],
}


@pytest.fixture
def question(school: School, teacher: User) -> Question:
    made = make_question(school, teacher, spec=DIAGONAL)
    keep_drawings(made)
    return made


def test_folds_open_from_the_last_and_every_wrong_option_is_struck_where_it_first_errs(question: Question) -> None:
    slides = board_of(question.current, "").slides
    assert [slide.kind for slide in slides[:2]] == [QUESTION, STEP]
    assert [slide.fold for slide in slides if slide.kind == STEP] == [0, 3, 2, 1]
    first_wrong = {o.label: o.first_wrong_fold for o in options_of(DIAGONAL).options}
    strikes = [slide for slide in slides if slide.kind == STRIKE]
    assert sorted(slide.letter for slide in strikes) == sorted(set("ABCDE") - {question.current.key})
    for slide in strikes:
        wrong = first_wrong[slide.letter]
        assert slide.fold in (wrong, 0 if wrong == 3 else wrong + 1)
    assert slides[-1].kind == ANSWER
    assert (slides[-1].letter, sorted(slides[-1].struck)) == (question.current.key, sorted(s.letter for s in strikes))


def test_every_slide_is_a_page_that_leads_back_and_on(client_of, teacher: User, question: Question) -> None:
    client, count = client_of(teacher), len(board_of(question.current, "").slides)
    for at in range(count):
        page = parse(client.get(f"/bank/{question.pk}/board/", {"at": at}))
        assert page.xpath("//a[@rel='prev']/@href") == ([f"?at={at - 1}"] if at else [])
        assert page.xpath("//a[@rel='next']/@href") == ([f"?at={at + 1}"] if at + 1 < count else [])
        assert len(words(page, "//ol[@class='board-options']/li")) == 5
    assert words(page, "//h1") == [f"{question.current.key} is right"]
    assert len(page.xpath("//ol[@class='board-options']/li[contains(@class, 'struck')]")) == 4


def test_the_question_slide_gives_nothing_away(client_of, teacher: User, question: Question) -> None:
    page = parse(client_of(teacher).get(f"/bank/{question.pk}/board/"))
    assert not page.xpath("//*[contains(@class, 'struck') or contains(@class, ' right') or contains(@class, 'now')]")
    assert "Opening fold" not in page.text_content()


@pytest.mark.parametrize(("at", "place"), [("-1", 1), ("999", 10), ("x", 1), ("٣", 1), ("1" * 500, 1)])
def test_a_slide_that_is_none_is_the_nearest(question: Question, at: str, place: int) -> None:
    assert board_of(question.current, at).place == min(place, len(board_of(question.current, "").slides))


def test_a_slanting_crease_is_stood_upright_by_a_link(client_of, teacher: User, question: Question) -> None:
    at = next(n for n, slide in enumerate(board_of(question.current, "").slides) if slide.fold == 1)
    address = f"/bank/{question.pk}/board/?at={at}"
    page = parse(client_of(teacher).get(address))
    (link,) = page.xpath("//a[@data-tilt]")
    assert link.get("href") == f"?at={at}&tilt=1"
    tilted = client_of(teacher).get(f"{address}&tilt=1").content.decode()
    assert re.search(r"rotate\((-?45)\)", tilted)
    straight = next(n for n, slide in enumerate(board_of(question.current, "").slides) if slide.fold == 3)
    page = parse(client_of(teacher).get(f"/bank/{question.pk}/board/?at={straight}&tilt=1"))
    assert not page.xpath("//a[@data-tilt]")


def test_the_tilt_is_the_angle_of_the_crease() -> None:
    """A crease from (0, 1/2) to (1, 1) rises 1 in 2: it stands upright when turned by the angle whose tangent is 2."""
    turn = flap_turn(unfold(read_spec(SLANTING)), 1)
    assert turn.tilt == pytest.approx(-degrees(atan2(2, 1)), abs=0.001)
    x1, y1, x2, y2 = turn.crease
    phi = radians(turn.tilt)
    assert (x2 - x1) * cos(phi) - (y2 - y1) * sin(phi) == pytest.approx(0, abs=1)


def test_the_flap_lies_on_the_far_side_of_its_crease(question: Question) -> None:
    """Opened, the flap of fold 1 (bottom right to top left, over the rising diagonal) covers the lower right corner."""
    unfolding = unfold(read_spec(DIAGONAL))
    turn = flap_turn(unfolding, 1)
    numbers = [int(n) for n in re.findall(r"-?\d+", turn.flap)]
    corners = set(zip(numbers[::2], numbers[1::2], strict=True))
    view = re.search(r'viewBox="(\S+) (\S+) (\S+) (\S+)"', draw_steps(unfolding)[0].svg)
    left, top = int(view[1]) + 600, int(view[2]) + 600
    assert corners == {(left, top + 8400), (left + 8400, top + 8400), (left + 8400, top)}
