"""The doors of pages: who is let in, who is sent to sign in, who is told that a page is not for them."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import AnonymousUser
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.test import RequestFactory
from django_htmx.middleware import HtmxDetails

from accounts.access import adults_only, pupils_only, roles
from accounts.models import Role
from tests.accounts.conftest import text_of


def ask(door, user, method="get", path="/a/page/?q=1", data=None, **headers):
    """What a page behind this door answers."""
    request = getattr(RequestFactory(), method)(path, data, **headers)
    request.user = user
    request.htmx = HtmxDetails(request)
    return door(lambda request: HttpResponse("the page"))(request)


@pytest.mark.parametrize("who", ["teacher", "head", "administrator"])
def test_adults_are_let_in_where_adults_are_meant(request, who):
    assert ask(adults_only, request.getfixturevalue(who)).content == b"the page"


def test_pupils_are_let_in_where_pupils_are_meant(pupil):
    assert ask(pupils_only, pupil).content == b"the page"


def test_only_the_roles_named_are_let_in(teacher, head, administrator):
    door = roles(Role.HEAD, Role.ADMINISTRATOR)
    assert ask(door, head).status_code == ask(door, administrator).status_code == 200
    with pytest.raises(PermissionDenied):
        ask(door, teacher)


@pytest.mark.parametrize(
    ("door", "who", "says"),
    [
        (adults_only, "pupil", "This page is for the adults of a school. You are signed in as a pupil."),
        (pupils_only, "teacher", "This page is for pupils. You are signed in as an adult."),
        (roles(Role.ADMINISTRATOR), "head", "This page is only for a school administrator of the school."),
        (
            roles(Role.TEACHER, Role.ADMINISTRATOR),
            "head",
            "This page is only for a teacher or a school administrator of the school.",
        ),
    ],
)
def test_another_role_is_told_whom_the_page_is_for(request, door, who, says):
    with pytest.raises(PermissionDenied) as refusal:
        ask(door, request.getfixturevalue(who))
    assert str(refusal.value) == says


@pytest.mark.parametrize(
    ("door", "sign_in"),
    [(adults_only, "/sign-in/"), (pupils_only, "/pupil/"), (roles(Role.HEAD), "/sign-in/")],
)
def test_nobody_is_sent_to_the_sign_in_page_that_fits(door, sign_in):
    answer = ask(door, AnonymousUser())
    assert answer.status_code == 302
    assert answer["Location"] == f"{sign_in}?next=/a/page/%3Fq%3D1"


def test_nobody_asking_by_htmx_has_the_whole_page_sent_to_sign_in():
    answer = ask(adults_only, AnonymousUser(), HTTP_HX_REQUEST="true")
    assert answer["HX-Redirect"] == "/sign-in/"


def test_what_nobody_sent_is_not_saved_and_shown_to_be_copied():
    sent = {"note": "Two <b>folds</b>", "tag": ["diagonal", "hard"]}
    answer = ask(adults_only, AnonymousUser(), "post", data=sent)
    words = text_of(answer)
    assert answer.status_code == 401
    assert "What you sent was not saved. Sign in again, and then send it once more." in words
    assert "Two <b>folds</b>" in words
    assert "diagonal, hard" in words
    assert b"<b>folds" not in answer.content


@pytest.mark.parametrize("field", ["password", "current", "new_password", "pin", "csrfmiddlewaretoken", "token", "PIN"])
def test_secrets_are_never_written_back(field):
    answer = ask(adults_only, AnonymousUser(), "post", data={field: "482916", "name": "Fenna"})
    assert b"482916" not in answer.content
    assert b"Fenna" in answer.content


def test_what_a_pupil_sent_is_not_written_on_a_tablet_that_is_shared():
    answer = ask(pupils_only, AnonymousUser(), "post", data={"option": "C"})
    assert answer.status_code == 401
    assert "This is what you sent" not in text_of(answer)
    assert b'href="/pupil/"' in answer.content


def test_sending_by_htmx_is_refused_too_so_that_nothing_typed_is_swapped_away():
    answer = ask(adults_only, AnonymousUser(), "post", data={"note": "x"}, HTTP_HX_REQUEST="true")
    assert answer.status_code == 401
    assert "HX-Redirect" not in answer


@pytest.mark.parametrize("method", ["put", "patch", "delete"])
def test_every_method_that_changes_something_is_refused(method):
    assert ask(adults_only, AnonymousUser(), method).status_code == 401


def test_pages_of_people_signed_in_are_kept_in_no_cache(teacher):
    assert ask(adults_only, teacher)["Cache-Control"] == "private, no-store"


def test_a_view_may_say_otherwise_for_what_is_nobodys(teacher):
    def picture(request):
        return HttpResponse("svg", headers={"Cache-Control": "private, max-age=3600"})

    request = RequestFactory().get("/")
    request.user = teacher
    assert adults_only(picture)(request)["Cache-Control"] == "private, max-age=3600"


def test_decorated_views_keep_their_name_and_arguments(teacher):
    @adults_only
    def detail(request, pk, *, place=1):
        """One thing."""
        return HttpResponse(f"{pk} {place}")

    request = RequestFactory().get("/")
    request.user = teacher
    assert detail.__name__ == "detail"
    assert detail.__doc__ == "One thing."
    assert detail(request, 7, place=2).content == b"7 2"


def test_a_disabled_adult_is_nobody(teacher, client_of):
    browser = client_of(teacher)
    assert browser.get("/classes/").status_code == 200
    teacher.is_active = False
    teacher.save()
    answer = browser.get("/classes/")
    assert (answer.status_code, answer["Location"]) == (302, "/sign-in/?next=/classes/")
