"""A database of the first release comes forward with everything that pupils did in it."""

from __future__ import annotations

import json

from tests.sites import database, environment_of, run


def test_a_sitting_of_the_first_release_is_read_as_it_was(tmp_path):
    with database("sqlite", tmp_path) as url:
        told = json.loads(run(environment_of(url, tmp_path), "-m", "tests.upgrade_drill", seconds=400).splitlines()[-1])
    assert [(one["place"], one["option"], one["seq"], one["is_late"]) for one in told["history"]] == [
        (1, "A", 1, False),
        (1, "B", 2, False),
    ]
    [mark] = json.loads(told["marks"])["marks"]
    assert (mark["choice"], mark["changes"], mark["seconds"]) == ("B", 1, 120.0)
