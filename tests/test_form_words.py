"""Every form of the site, sent empty and filled in wrongly: what is read then is a sentence of ours, at its place.

Addresses, and who gets furthest there, come from the table of permissions; the sentences that must not be read, from
Django itself.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape
from typing import Any

import pytest
from django import forms
from django.contrib.auth import password_validation
from django.core import validators
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction
from django.forms import models as model_forms

from accounts.models import SchoolClass
from accounts.wording import WordedForm
from tests.permission_table import Line, lines
from tests.permission_world import address, signed_in
from tests.test_bad_input import furthest

pytestmark = pytest.mark.django_db
WRONG = ["", "nonsense", "-1", "9" * 30, "2026-02-30", "x\x00y", "x" * 5001]
PAPER = {"folds": "1", "punches": "1"}
# What a page sends beside its form, without which the form is not reached; capitals stand for what is in the world.
BESIDE: dict[str, list[dict[str, str]]] = {
    "/results/<int:pk>/time/": [{"deed": deed} for deed in ("extend_all", "end_all", "extend_one", "end_one")],
    "/bank/new/": [PAPER | {"do": "save"}],
    "/bank/<int:pk>/edit/": [PAPER | {"do": "save"}],
    "/bank/preview/": [PAPER],
    "/bank/chosen/tags/": [{"chosen": "QUESTION"}],
    "/bank/chosen/pictures/": [{"chosen": "QUESTION"}],
    "/sets/put/": [{"chosen": "QUESTION"}],
    "/classes/<int:pk>/bring/": [{}, {"source": "OTHER_CLASS"}],
    "/bank/import/<int:pk>/": [{"do": "take"}],
}
BY = {"/classes/<int:pk>/bring/": "administrator"}  # who has a second class to bring pupils from
AT = {"/results/<int:pk>/marking/": "?question=1"}
# Told in one sentence for all fields: to a script, among the page's messages, or by a page that has no form any more.
TOLD_AT_ONCE = {"AnswerForm", "PasskeyForm", "OrderForm", "DetailsForm", "TakeForm", "PracticeForm"}
# What others are built on; what a passkey answers to a question of the page, for its script; the holes of a picture,
# reached by whole paper only (tests/bank/test_arranging.py).
NOT_MET = {
    "accounts.wording.WordedForm",
    "accounts.forms.Form",
    "accounts.forms.AnswerForm",
    "assignments.forms.timing.TimeForm",
    "bank.forms.holes.HoleForm",
    "bank.forms.rows.RowForm",
}


class Sevens(dict):
    """A 7 for whatever a sentence is filled in with."""

    def __missing__(self, name: str) -> int:
        return 7


def stock_sentences() -> set[str]:
    """Of each sentence that Django's fields and validators have, the longest piece without a value in it."""
    rooms = (forms.fields, model_forms, validators)
    kinds = [kind for room in rooms for kind in vars(room).values() if isinstance(kind, type)]
    says = [said for kind in kinds for said in vars(kind).get("default_error_messages", {}).values()]
    says += [
        kind.message for kind in kinds if getattr(kind, "message", None) and kind.__module__ == "django.core.validators"
    ]
    says += [
        password_validation.MinimumLengthValidator(7).get_error_message(),
        password_validation.CommonPasswordValidator().get_error_message(),
        password_validation.UserAttributeSimilarityValidator().get_error_message(),
    ]
    return {max(re.split("7", str(said % Sevens())), key=len) for said in says}


def kinds_of_form(kind: type[forms.Form] = forms.Form) -> Iterator[type[forms.Form]]:
    """Every form class of the site, those that others build on included."""
    import config.urls  # noqa: F401  (whose views bring all forms with them)

    for below in kind.__subclasses__():
        if not below.__module__.startswith(("django.", "tests.")):
            yield below
        yield from kinds_of_form(below)


def test_every_form_words_its_refusals():
    assert [kind for kind in kinds_of_form() if not issubclass(kind, WordedForm)] == []


@pytest.fixture
def asked(monkeypatch) -> list[WordedForm]:
    """The forms that were asked whether they are valid."""
    found: list[WordedForm] = []
    clean = WordedForm.full_clean

    def seen(form: WordedForm) -> None:
        found.append(form)
        clean(form)

    monkeypatch.setattr(WordedForm, "full_clean", seen)
    return found


def filled(asked: list[WordedForm], wrong: str) -> dict[str, Any]:
    """The same wrong value in every field of the forms asked; an empty file where a file is wanted."""
    return {
        form.add_prefix(name): SimpleUploadedFile("list.csv", b"") if isinstance(field, forms.FileField) else wrong
        for form in asked
        for name, field in form.fields.items()
        if form.is_bound
    }


def sent_to(line: Line, asked: list[WordedForm], world) -> Iterator[tuple[str, str, list[WordedForm]]]:
    """Of each sending: what it was, the text that came of it, the forms that were asked."""
    here = SchoolClass.objects.get(pk=world.values["class"])
    other = SchoolClass.objects.filter(school=here.school_id).exclude(pk=here.pk).get()
    in_world = {"QUESTION": world.values["question"], "OTHER_CLASS": other.pk}
    for method, words in (("get", line.get), ("post", line.post)):
        role = BY.get(line.route) or furthest(line, words)
        path = address(line, world) + AT.get(line.route, "")
        if words[0] == "405" and len(set(words)) == 1:
            continue
        for needed in BESIDE.get(line.route, [{}]):
            beside = {name: str(in_world.get(value, value)) for name, value in needed.items()}
            names: list[WordedForm] = []
            for wrong in WRONG:
                asked.clear()
                data = {**filled(names, wrong), **beside}
                with transaction.atomic():
                    answer = getattr(signed_in(role, world), method)(path, data, follow=True)
                    transaction.set_rollback(True)
                names = names or list(asked)
                if not names:
                    break  # there is no form here
                text = "" if answer.streaming else unescape(answer.content.decode(errors="replace"))
                yield f"{method} {line.route} {needed} {wrong[:10]!r}", text, list(asked)


def out_of_focus(text: str, found: list[WordedForm]) -> Iterator[str]:
    """Unless the cursor goes to one place, and what describes that place is there to be read."""
    wrong = [form for form in found if form.errors and type(form).__name__ not in TOLD_AT_ONCE]
    places = re.findall(r"<[^>]*\sautofocus[^>]*>", text)
    if len(places) > 1 or (wrong and not places and "<html" in text):
        yield f"the cursor goes to {len(places)} places after {wrong}"
    for place in places:
        said_by = re.search('aria-describedby="([^"]+)"', place)
        names = said_by[1].split() if said_by else []
        if "role=" not in place and not any(name.endswith("_error") or name.startswith("says-") for name in names):
            yield f"nothing tells what is wrong in {place}"
        yield from (f"no {name}" for name in names if f'id="{name}"' not in text)


def test_no_form_answers_in_stock_sentences_and_all_it_says_is_on_the_page(world, asked):
    stock, faults, met = stock_sentences(), [], set()
    assert "This field is required." in stock
    assert len(stock) > 30
    for line in lines():
        for where, text, found in sent_to(line, asked, world):
            faults += [f"{where}: {said}" for said in stock if said in text]
            for form in found:
                met.add(type(form))
                said = [str(error) for errors in form.errors.values() for error in errors]
                faults += [f"{where}, {type(form).__name__}: {one}" for one in said if any(s in one for s in stock)]
                if type(form).__name__ not in TOLD_AT_ONCE:
                    faults += [f"{where}, {type(form).__name__}, not told: {one}" for one in said if one not in text]
            faults += [f"{where}: {fault}" for fault in out_of_focus(text, found)]
    assert sorted(set(faults)) == []
    assert {f"{kind.__module__}.{kind.__name__}" for kind in set(kinds_of_form()) - met} == NOT_MET
