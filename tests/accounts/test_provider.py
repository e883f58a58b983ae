"""Signing in by the school's own provider (OpenID Connect), against a provider of our own that signs real tokens."""

from __future__ import annotations

from collections.abc import Iterator
from urllib.parse import parse_qs, urlsplit

import pytest
from django.contrib.auth.hashers import make_password
from django.test import Client
from django.test.utils import override_settings

from accounts.models import Passkey, ProviderAccount, Role, School, User
from accounts.services.people import create_adult, invite, update_adult
from accounts.services.second_factor import set_factor
from accounts.trail import Deed, Entry
from config.checks import provider_is_whole
from tests.accounts.conftest import KEY, NOW, code_at, text_of
from tests.accounts.provider import CLIENT, SECRET, Provider, signing_key
from tests.sites import free_port

THERE, BACK, UNLINK, SIGN_IN = "/sign-in/school/", "/sign-in/school/back/", "/sign-in/school/unlink/", "/sign-in/"
NOT_COMPLETED = "Signing in at your school was not completed. Start once more."
NOT_INVITED = "There is no account here for you."


@pytest.fixture
def provider(settings) -> Iterator[Provider]:
    running = Provider()
    settings.OIDC_ISSUER, settings.OIDC_CLIENT_ID, settings.OIDC_CLIENT_SECRET = running.issuer, CLIENT, SECRET
    yield running
    running.close()


def by_provider(client: Client, provider: Provider, more: str = ""):
    """Go there by the link and come back; where the site then leads."""
    return client.get(BACK, provider.visited(client.get(THERE + more)["Location"]))


def is_in(client: Client) -> bool:
    return client.get("/classes/").status_code == 200


def refused(client: Client, answer, says: str) -> bool:
    return answer["Location"] == SIGN_IN and not is_in(client) and says in text_of(client.get(SIGN_IN))


# --- in -----------------------------------------------------------------------------------------------------------


def test_the_door_is_offered_only_where_there_is_a_provider(client, teacher, settings):
    assert "school’s own sign-in" not in text_of(client.get(SIGN_IN))
    assert (client.get(THERE).status_code, client.get(BACK).status_code) == (404, 404)
    settings.OIDC_ISSUER = "https://in.tarnlow.example"
    assert "Use your school’s own sign-in" in text_of(client.get(SIGN_IN))


def test_the_browser_is_sent_with_state_nonce_and_a_challenge(client, teacher, provider):
    address = urlsplit(client.get(THERE)["Location"])
    asked = {name: values[0] for name, values in parse_qs(address.query).items()}
    assert f"{address.scheme}://{address.netloc}" == provider.issuer
    assert (asked["response_type"], asked["client_id"], asked["scope"]) == ("code", CLIENT, "openid email")
    assert asked["redirect_uri"] == f"http://testserver{BACK}"
    assert asked["code_challenge_method"] == "S256"
    assert min(len(asked[name]) for name in ("state", "nonce")) >= 20
    again = parse_qs(urlsplit(client.get(THERE)["Location"]).query)
    assert all(again[name][0] != asked[name] for name in ("state", "nonce", "code_challenge"))


def test_a_known_person_comes_in_and_where_they_wanted_to_go(client, teacher, provider):
    before = client.session.session_key
    assert by_provider(client, provider, "?next=/sets/")["Location"] == "/sets/"
    assert is_in(client)
    assert client.session.session_key != before
    linked = ProviderAccount.objects.get()
    assert (linked.user, linked.issuer, linked.subject) == (teacher, provider.issuer, "person-7")
    assert list(Entry.objects.order_by("pk").values_list("deed", "by")) == [
        (Deed.PROVIDER_LINKED, teacher.pk),
        (Deed.SIGNED_IN, teacher.pk),
    ]


def test_it_does_not_lead_to_another_site(client, teacher, provider):
    assert by_provider(client, provider, "?next=//evil.example/")["Location"] == "/"


def test_who_was_invited_needs_no_password(client, school, provider):
    create_adult(school=school, role=Role.TEACHER, email="edda@tarnlow.example", name="Edda Marlin", by=None)
    by_provider(client, provider)
    assert is_in(client)


def test_the_number_counts_from_then_on_and_not_the_address(client, teacher, provider):
    by_provider(client, provider)
    provider.claims |= {"email": "edda.married@tarnlow.example"}
    other = Client()
    by_provider(other, provider)
    assert is_in(other)


def test_an_address_told_in_a_place_of_its_own_is_read_there(client, teacher, provider):
    provider.claims = {"sub": "person-7"}
    provider.told = {"sub": "person-8", "email": "edda@tarnlow.example", "email_verified": True}
    assert refused(client, by_provider(client, provider), NOT_COMPLETED)
    provider.told["sub"] = "person-7"
    by_provider(client, provider)
    assert is_in(client)


# --- the second factor --------------------------------------------------------------------------------------------


def test_it_stands_in_for_the_password_alone(client, administrator, provider, settings, clock):
    settings.SECOND_FACTOR_REQUIRED = True
    provider.claims["email"] = administrator.email
    by_provider(client, provider)
    assert client.get("/records/")["Location"] == "/second-factor/"
    set_factor(user=administrator, key=KEY, code=code_at(NOW), at=NOW)
    other = Client()
    answer = by_provider(other, provider, "?next=/records/")
    assert answer["Location"] == "/sign-in/code/?next=%2Frecords%2F"
    assert not is_in(other)
    clock.forward(seconds=30)
    other.post(answer["Location"], {"code": code_at(clock())})
    assert other.get("/records/").status_code == 200


# --- refused ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "claims",
    [
        {"nonce": "of another sign-in"},
        {"nonce": None},
        {"aud": "another-site"},
        {"aud": ["another-site", CLIENT], "azp": "another-site"},
        {"iss": "https://evil.example"},
        {"exp": 1_700_000_000},
        {"exp": None},
        {"sub": None},
        {"sub": "x" * 256},
        {"email": "edda@tarnlow.example\x00"},
    ],
    ids=lambda claims: " ".join(f"{name} {value}"[:30] for name, value in claims.items()),
)
def test_a_token_that_is_not_for_this_sign_in_is_refused(client, teacher, provider, claims):
    provider.claims |= claims
    assert refused(client, by_provider(client, provider), NOT_COMPLETED)
    assert not ProviderAccount.objects.exists()


@pytest.mark.parametrize(("key", "algorithm"), [(1, "RS256"), (0, "none"), (0, "HS256")])
def test_a_token_that_the_provider_has_not_signed_is_refused(client, teacher, provider, key, algorithm):
    provider.key, provider.algorithm = signing_key(key), algorithm
    assert refused(client, by_provider(client, provider), NOT_COMPLETED)


def test_what_comes_back_counts_once_and_in_the_browser_that_was_sent(client, teacher, provider):
    back = provider.visited(client.get(THERE)["Location"])
    other = Client()
    assert refused(other, other.get(BACK, back), NOT_COMPLETED)
    assert refused(client, client.get(BACK, back | {"state": "made up"}), NOT_COMPLETED)
    client.get(BACK, back)
    assert is_in(client)
    client.post("/sign-out/")
    assert refused(client, client.get(BACK, back), NOT_COMPLETED)


def test_a_code_of_another_sign_in_is_refused_by_its_verifier(client, teacher, provider):
    """A stolen code is worth nothing in the thief's browser: PKCE, RFC 7636."""
    thief = Client()
    mine = parse_qs(urlsplit(thief.get(THERE)["Location"]).query)["state"][0]
    stolen = provider.visited(client.get(THERE)["Location"])
    assert refused(thief, thief.get(BACK, stolen | {"state": mine}), NOT_COMPLETED)


@pytest.mark.parametrize("sent", [{}, {"error": "access_denied"}, {"state": "\x00", "code": ""}, {"code": "x" * 5000}])
def test_a_stranger_at_the_way_back_gets_a_sentence(client, teacher, provider, sent):
    assert refused(client, client.get(BACK, sent), NOT_COMPLETED)


def test_a_provider_that_does_not_answer_leaves_the_password(client, teacher, provider, settings):
    settings.OIDC_ISSUER = f"http://127.0.0.1:{free_port()}"
    assert refused(client, client.get(THERE), "Your school’s sign-in does not answer.")


@pytest.mark.parametrize("verified", [False, None, "true", 1])
def test_an_address_that_nobody_has_verified_is_refused(client, teacher, provider, verified):
    provider.claims["email_verified"] = verified
    assert refused(client, by_provider(client, provider), "has not verified your e-mail address")
    assert Entry.objects.get(deed=Deed.SIGN_IN_REFUSED).about == {"staff": teacher.pk}


@pytest.mark.parametrize("address", ["nobody@tarnlow.example", "", None])
def test_nobody_is_let_in_uninvited(client, teacher, provider, address):
    provider.claims["email"] = address
    provider.told = {"sub": "person-7"} | ({"email_verified": True} if address is None else {})
    before = User.objects.count()
    assert refused(client, by_provider(client, provider), NOT_INVITED)
    assert User.objects.count() == before
    assert Entry.objects.get(deed=Deed.SIGN_IN_REFUSED).about == {}


def test_the_provider_of_one_school_lets_in_nobody_of_another(client, teacher, stranger, provider, settings):
    """With two schools it must be said whose provider it is; and then the other's people are strangers to it."""
    provider.claims["email"] = teacher.email
    assert refused(client, by_provider(client, provider), NOT_INVITED)
    settings.OIDC_SCHOOL = stranger.school_id
    assert refused(client, by_provider(client, provider), NOT_INVITED)
    settings.OIDC_SCHOOL = teacher.school_id
    by_provider(client, provider)
    assert is_in(client)
    settings.OIDC_SCHOOL = stranger.school_id
    provider.claims["email"] = stranger.email
    other = Client()
    assert refused(other, by_provider(other, provider), "belonged to somebody else")


def test_a_pupil_or_a_disabled_adult_is_nobody(client, teacher, pupil, provider):
    by_provider(client, provider)
    User.objects.filter(pk=teacher.pk).update(is_active=False)
    other = Client()
    assert refused(other, by_provider(other, provider), NOT_INVITED)
    assert School.objects.count() == 1


def test_an_address_that_went_to_somebody_else_waits_for_the_administrator(client, teacher, administrator, provider):
    by_provider(client, provider)
    provider.claims["sub"] = "person-8"
    other = Client()
    assert refused(other, by_provider(other, provider), "belonged to somebody else")
    invite(user=teacher, by=administrator, at=NOW)
    by_provider(other, provider)
    assert is_in(other)
    update_adult(user=teacher, name=teacher.name, email="new@tarnlow.example", role=Role.TEACHER, by=administrator)
    assert not ProviderAccount.objects.exists()


# --- unlinked -----------------------------------------------------------------------------------------------------


def test_whoever_has_a_password_may_unlink_and_is_signed_out_elsewhere(client, teacher, provider):
    User.objects.filter(pk=teacher.pk).update(password=make_password("paper lantern tide"))
    other = Client()
    by_provider(other, provider)
    by_provider(client, provider)
    assert "Your school’s own sign-in Linked to this account" in text_of(client.get("/password/"))
    assert "is unlinked" in text_of(client.post(UNLINK, follow=True))
    assert (is_in(client), is_in(other)) == (True, False)
    assert not ProviderAccount.objects.exists()
    assert Entry.objects.get(deed=Deed.PROVIDER_UNLINKED).by == teacher
    assert "Your school’s own sign-in" not in text_of(client.get("/password/"))
    assert client.post(UNLINK).status_code == 404
    provider.claims["sub"] = "person-8"
    by_provider(other, provider)
    assert ProviderAccount.objects.get().subject == "person-8"


def test_the_only_way_in_stays_and_says_so(client, school, provider):
    edda = create_adult(school=school, role=Role.TEACHER, email="edda@tarnlow.example", name="Edda Marlin", by=None)
    by_provider(client, provider)
    assert "This is your only way in" in text_of(client.post(UNLINK, follow=True))
    assert ProviderAccount.objects.get().user == edda
    assert not Entry.objects.filter(deed=Deed.PROVIDER_UNLINKED).exists()
    Passkey.objects.create(user=edda, name="Laptop", credential=b"laptop", public_key=b"key", sign_count=0, since=NOW)
    client.post(UNLINK)
    assert not ProviderAccount.objects.exists()
    assert is_in(client)


def test_half_a_setting_is_refused_at_the_start():
    with override_settings(OIDC_ISSUER="http://in.example", OIDC_CLIENT_ID="x", OIDC_CLIENT_SECRET="", HTTPS=True):
        assert [found.id for found in provider_is_whole()] == ["creasemark.E003", "creasemark.E004"]
    assert provider_is_whole() == []
