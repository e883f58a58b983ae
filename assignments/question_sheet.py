"""The question page printed once as a form with blanks; each pupil at work gets a copy with the blanks filled in.

The form is made by the page's own templates, with a mark at each place that differs from pupil to pupil: the page has
one wording. Making a form takes many times as long as filling it in. Forms, and the pictures of versions, which never
change, are kept in the process's memory, as many as a year group needs at a time.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache
from types import SimpleNamespace
from typing import NamedTuple
from uuid import uuid4

from django.template.loader import render_to_string
from django.utils.html import escape

from assignments.marking import Standing, untimed_standings
from assignments.papers import LETTERS, Place, places, titled
from assignments.pupil_pages import Option, Spot, name_chosen, options_of, tape_of, without_words
from assignments.school_time import say_left
from assignments.services.at_once import AtWork, shown
from assignments.timekeeping import UNTIMED
from bank.display import pictures_for
from bank.models import Picture, Version
from bank.templatetags.drawing import drawing

MARK = re.compile("\x02(\\w+)\x03")  # two signs that no page holds
NOBODY = 4_611_686_018_427_387_904  # stands for a number within an address, which takes no other sign
FORMS, VERSIONS = 1000, 500  # of some 8 kB and 30 kB each


class Form(NamedTuple):
    """What a printed form depends on."""

    is_part: bool  # the part that changes from question to question, without the page around it
    number: int  # the question's, from 1
    questions: int
    folds: int  # pictures of the stem
    is_untimed: bool
    rest_breaks: bool


class Drawn(NamedTuple):
    """The pictures of a version, ready to be set in: the blanks of its stem, and the options by their letters."""

    folds: int
    stem: dict[str, str]
    options: dict[str, str]


def copy_for(found: AtWork, place: Place, *, is_part: bool, token: str) -> str | None:
    """Return the page of a question for a pupil at work; ``token`` is the form's, against forged requests.

    ``None``: something has come between.
    """
    now = shown(found, place.question)
    if now is None:
        return None
    pictures, standing = drawn(now.version, now.made), untimed_standings(now.acts)
    tape = tape_of(places(found.paper), standing, here=place.number)
    in_order = [pictures.options[own] for own in place.order]
    options = options_of(found.sitting, place, in_order, standing.get(place.question, Standing()))
    seconds_left = found.seconds_left(now.at)
    is_untimed = found.set_for >= UNTIMED
    form = Form(is_part, place.number, len(tape), pictures.folds, is_untimed, found.rest_breaks)
    blanks = {
        "sitting": str(found.sitting),
        "assignment": str(found.assignment),
        "title": escape(titled(found.title, found.paper)),
        "pupil": escape(found.name),
        "epoch": str(found.epoch),
        "last_seq": str(max((act.seq for act in now.acts if act.epoch == found.epoch), default=0)),
        "allowance": str(found.allowance),
        "seconds_left": str(seconds_left),
        "time_words": say_left(seconds_left, is_untimed),
        "client_id": str(uuid4()),
        "token": token,
    }
    return fill_in(form, blanks | pictures.stem | _state(tape, options))


def fill_in(form: Form, blanks: Mapping[str, str]) -> str:
    """Return a copy of the form. Each of ``blanks`` is HTML already; one that is lacking is a KeyError."""
    pieces = list(_printed(form))
    pieces[1::2] = [blanks[name] for name in pieces[1::2]]
    return "".join(pieces)


def _state(tape: list[Spot], options: list[Option]) -> dict[str, str]:
    """Return what the pupil's doings put into a copy."""
    here = next(spot for spot in tape if spot.is_here)
    chosen = name_chosen(options)
    blanks = {"chosen": chosen, "saved": "Saved" if chosen else "", "flag": here.flag, "flagged": here.pressed}
    for spot in tape:
        blanks[f"marks{spot.number}"], blanks[f"says{spot.number}"] = spot.marks, spot.says
    for option in options:
        at = option.letter
        blanks |= {f"name{at}": option.name, f"option{at}": option.svg, f"checked{at}": option.checked}
        blanks |= {f"strike{at}": option.strike, f"struck{at}": option.pressed}
    return blanks


@lru_cache(VERSIONS)
def drawn(version_id: int, made: str) -> Drawn:
    """Return the pictures of a version; with when it was made, lest a restored database give its number to another."""
    version = Version.objects.get(pk=version_id)
    shown = pictures_for([version], [Picture.Kind.STEM, Picture.Kind.OPTION])[version.pk]
    words: dict[str, str] = {f"words{number}": escape(picture.description) for number, picture in enumerate(shown.stem)}
    folds = {f"fold{number}": drawing(picture) for number, picture in enumerate(shown.stem)}
    options = zip(LETTERS, shown.in_order(LETTERS), strict=True)
    return Drawn(
        len(shown.stem),
        words | folds,
        {letter: drawing(SimpleNamespace(svg=without_words(picture))) for letter, picture in options},
    )


@lru_cache(FORMS)
def _printed(form: Form) -> list[str]:
    """Return the form in pieces: text and the name of a blank in turn."""
    template = "assignments/parts/question.html" if form.is_part else "assignments/sitting.html"
    text = render_to_string(template, _context(form))
    return MARK.split(text.replace(str(NOBODY), _blank("sitting")).replace(str(NOBODY + 1), _blank("assignment")))


def _blank(name: str) -> str:
    return f"\x02{name}\x03"


def _context(form: Form) -> dict[str, object]:
    """What the templates take from ``QuestionPage`` and the request, with a blank for all that is a pupil's own."""
    assignment = SimpleNamespace(is_untimed=form.is_untimed)
    own = SimpleNamespace(
        pk=NOBODY, assignment_id=NOBODY + 1, assignment=assignment, **_blanks("title", "epoch", "allowance")
    )
    tape = [
        SimpleNamespace(
            number=number,
            is_here=number == form.number,
            marks=_blank(f"marks{number}"),
            says=_blank(f"says{number}"),
        )
        for number in range(1, form.questions + 1)
    ]
    options = [
        SimpleNamespace(
            letter=letter,
            name=_blank(f"name{letter}"),
            svg=_blank(f"option{letter}"),
            checked=_blank(f"checked{letter}"),
            strike=_blank(f"strike{letter}"),
            pressed=_blank(f"struck{letter}"),
        )
        for letter in LETTERS
    ]
    page = SimpleNamespace(
        sitting=own,
        place=SimpleNamespace(number=form.number),
        tape=tape,
        here=SimpleNamespace(flag=_blank("flag"), pressed=_blank("flagged")),
        stem=[SimpleNamespace(description=_blank(f"words{n}"), svg=_blank(f"fold{n}")) for n in range(form.folds)],
        options=options,
        question_left=None,
        is_shut=False,
        is_last=form.number == form.questions,
        checks_at_once=False,
        **_blanks("chosen", "saved", "seconds_left", "time_words", "last_seq"),
    )
    pupil = SimpleNamespace(name=_blank("pupil"), rest_breaks=form.rest_breaks)
    return {
        "page": page,
        "request": SimpleNamespace(user=pupil),
        "csrf_token": _blank("token"),
        "client_id": _blank("client_id"),
    }


def _blanks(*names: str) -> dict[str, str]:
    return {name: _blank(name) for name in names}
