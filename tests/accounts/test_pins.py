"""PINs: drawn at random, kept as a hash, compared in the same time whether there is one or not."""

from __future__ import annotations

import re
import time
from collections import Counter

import argon2
import pytest
from django.contrib.auth.hashers import make_password

from accounts import pins


@pytest.fixture
def quick_pins():
    """Nothing: these tests are about the real hash."""


def test_pin_is_six_figures():
    for _ in range(300):
        assert re.fullmatch(r"[0-9]{6}", pins.new_pin())


def test_pins_come_from_the_generator_meant_for_secrets(monkeypatch):
    drawn = []
    monkeypatch.setattr(pins.secrets, "randbelow", lambda limit: drawn.append(limit) or 42)
    assert pins.new_pin() == "000042"
    assert drawn == [1_000_000]


def test_every_figure_comes_about_as_often():
    """2,000 PINs hold each figure 1,200 times give or take five standard deviations (binomial, 12,000 draws)."""
    counts = Counter("".join(pins.new_pin() for _ in range(2000)))
    deviation = (12_000 * 0.1 * 0.9) ** 0.5
    assert all(abs(counts[figure] - 1200) < 5 * deviation for figure in "0123456789")


def test_hash_is_argon2id_at_the_advised_cost():
    """OWASP Password Storage Cheat Sheet: Argon2id with m=19456 (19 MiB), t=2, p=1 at the least. From memory."""
    kept = pins.hash_pin("482916")
    facts = argon2.extract_parameters(kept.removeprefix("argon2"))
    assert (facts.type, facts.memory_cost, facts.time_cost, facts.parallelism) == (argon2.Type.ID, 19456, 2, 1)
    assert "482916" not in kept


def test_hash_is_one_that_the_reference_library_verifies():
    kept = pins.hash_pin("482916")
    assert argon2.PasswordHasher().verify(kept.removeprefix("argon2"), "482916")


def test_same_pin_has_another_hash_each_time():
    assert pins.hash_pin("482916") != pins.hash_pin("482916")


@pytest.mark.parametrize("typed", ["482916", "482 916", " 482916 ", "482-916", "4 8 2 9 1 6"])
def test_right_pin_however_it_is_spaced(typed):
    assert pins.is_right(typed, pins.hash_pin("482916"))


@pytest.mark.parametrize("typed", ["482917", "48291", "4829166", "", "١٢٣٤٥٦", "482916\x00"])
def test_wrong_pin(typed):
    assert not pins.is_right(typed, pins.hash_pin("482916"))


@pytest.mark.parametrize("kept", [None, make_password(None), ""], ids=["none", "unusable", "empty"])
def test_no_pin_kept_is_never_right(kept):
    assert not pins.is_right("482916", kept)


def test_no_pin_kept_takes_as_long():
    kept = pins.hash_pin("482916")

    def fastest(of):
        times = []
        for _ in range(5):
            began = time.perf_counter()
            pins.is_right("000000", of)
            times.append(time.perf_counter() - began)
        return min(times)

    assert 0.4 < fastest(None) / fastest(kept) < 2.5
