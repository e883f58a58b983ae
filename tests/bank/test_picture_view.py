"""A picture by its address: for adults of its school only, with the right type, kept for good."""

from __future__ import annotations

import pytest

from accounts.models import School, User
from bank.models import Picture
from bank.services.pictures import render_pictures
from tests.bank.factories import make_question


@pytest.fixture
def picture(school: School) -> Picture:
    version = make_question(school).current
    render_pictures(version=version)
    return version.pictures.get(kind="option", place=3)


@pytest.mark.parametrize(
    ("ending", "kind", "start"),
    [("svg", "image/svg+xml", b"<svg"), ("png", "image/png", b"\x89PNG"), ("2x.png", "image/png", b"\x89PNG")],
)
def test_served_with_its_type(client_of, teacher: User, picture: Picture, ending: str, kind: str, start: bytes) -> None:
    response = client_of(teacher).get(f"/bank/pictures/{picture.name}.{ending}")
    assert response.status_code == 200
    assert response["Content-Type"] == kind
    assert response["X-Content-Type-Options"] == "nosniff"
    assert response["Cache-Control"] == "private, max-age=31536000, immutable"
    assert response.content.startswith(start)


def test_large_is_larger(client_of, teacher: User, picture: Picture) -> None:
    small, large = (
        client_of(teacher).get(f"/bank/pictures/{picture.name}.{ending}").content for ending in ("png", "2x.png")
    )
    assert len(large) > len(small)


@pytest.mark.parametrize("path", ["0" * 64 + ".svg", "{name}.gif", "{name}.svgx", "{name}", "../{name}.svg"])
def test_unknown_names_are_not_there(client_of, teacher: User, picture: Picture, path: str) -> None:
    assert client_of(teacher).get(f"/bank/pictures/{path.format(name=picture.name)}").status_code == 404


def test_no_bitmap_yet_is_not_there(client_of, teacher: User, picture: Picture) -> None:
    Picture.objects.filter(pk=picture.pk).update(has_png=False)
    assert client_of(teacher).get(f"/bank/pictures/{picture.name}.png").status_code == 404
    assert client_of(teacher).get(f"/bank/pictures/{picture.name}.svg").status_code == 200


def test_a_stranger_finds_nothing_and_a_pupil_is_refused(
    client_of, stranger: User, pupil: User, picture: Picture
) -> None:
    address = f"/bank/pictures/{picture.name}.svg"
    assert client_of(stranger).get(address).status_code == 404
    assert client_of(pupil).get(address).status_code == 403
    assert client_of(None).get(address).status_code == 302
