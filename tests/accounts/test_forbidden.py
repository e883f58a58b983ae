"""The page for whoever opens what is not meant for their role: 403 and a sentence that says whom it is for."""

from __future__ import annotations

import pytest

from tests.accounts.conftest import text_of


@pytest.mark.parametrize(
    ("who", "path", "sentence"),
    [
        ("pupil", "/classes/", "This page is for the adults of a school. You are signed in as a pupil."),
        ("pupil", "/password/", "This page is for the adults of a school. You are signed in as a pupil."),
        ("teacher", "/staff/", "This page is only for a school administrator of the school."),
        ("head", "/classes/new/", "This page is only for a teacher or a school administrator of the school."),
    ],
)
def test_the_page_says_whom_it_is_for(request, client_of, who, path, sentence):
    answer = client_of(request.getfixturevalue(who)).get(path)
    assert answer.status_code == 403
    assert sentence in text_of(answer)


def test_a_page_of_another_is_not_there_rather_than_forbidden(client_of, stranger, school_class):
    """Forbidden would tell that it exists."""
    there = client_of(stranger).get(f"/classes/{school_class.pk}/")
    nowhere = client_of(stranger).get("/classes/999999/")
    assert there.status_code == nowhere.status_code == 404
    assert text_of(there) == text_of(nowhere)
