"""Names tell nothing. Check: HMAC as RFC 2104 defines it, written out with Python's ``hmac``, under the key that
Django documents for ``salted_hmac`` (the hash of the salt and the server's secret)."""

from __future__ import annotations

import hashlib
import hmac

from django.conf import settings
from django.test import override_settings

from accounts.models import School
from bank.drawing import draw_pictures, picture_name
from tests.bank.factories import make_question


def test_a_name_is_an_hmac_sha256_under_a_key_of_the_server() -> None:
    key = hashlib.sha256(b"bank.picture" + settings.SECRET_KEY.encode()).digest()
    assert picture_name(7, "option", 2, "<svg/>") == hmac.new(key, b"7:option:2:<svg/>", hashlib.sha256).hexdigest()


def test_another_secret_gives_other_names() -> None:
    name = picture_name(7, "option", 2, "<svg/>")
    with override_settings(SECRET_KEY="another-secret-" + "y" * 40):
        assert picture_name(7, "option", 2, "<svg/>") != name


def test_all_pictures_of_two_versions_are_named_apart(school: School) -> None:
    versions = [make_question(school).current, make_question(school).current]
    names = [picture.name for version in versions for picture in draw_pictures(version)]
    assert len(set(names)) == len(names) == 2 * (3 + 3 + 3 + 5)
    assert all(len(name) == 64 and set(name) <= set("0123456789abcdef") for name in names)


def test_the_order_of_names_says_nothing_of_the_key(school: School) -> None:
    """Over 200 versions the key's name stands at each of the five places about equally often.

    Chi-squared with 4 degrees of freedom; 18.47 is its 99.9 % point (standard tables).
    """
    places = [0] * 5
    for version in range(1, 201):
        names = [picture_name(version, "option", place, "<svg/>") for place in range(5)]
        places[sorted(names).index(names[version % 5])] += 1
    assert sum((count - 40) ** 2 / 40 for count in places) < 18.47
