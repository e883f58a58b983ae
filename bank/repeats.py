"""What the bank has already: questions that ask the same as another, and near repeats.

A near repeat has the same folds under the symmetries of the sheet, and its punches in about the same places, whatever
their shapes and however they are turned (``geometry.fingerprints.Kin``). Both are things to know, not faults: a teacher
may want them.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from bank.models import Question, Version
from geometry.fingerprints import Kin, kin_of
from geometry.option_sets import OptionSet
from geometry.unfolding import Unfolding

MOST = 3  # near repeats that are named


class Asked(NamedTuple):
    """What a question asks, so far as repeats are known by it."""

    fingerprint: str
    kin: Kin

    @classmethod
    def of_version(cls, version: Version) -> Asked:
        return cls(version.fingerprint, Kin(version.folding, version.punched_at))

    @classmethod
    def of_content(cls, content: dict[str, Any]) -> Asked:
        """Of what a version will keep (``content_of``)."""
        return cls(content["fingerprint"], Kin(content["folding"], content["punched_at"]))

    @classmethod
    def at_bench(cls, option_set: OptionSet, unfolding: Unfolding) -> Asked:
        return cls(option_set.fingerprint, kin_of(unfolding.folded, option_set.spec.punches))


class Known(NamedTuple):
    """A question of the bank, as a link to it is written."""

    pk: int
    number: int


@dataclass(frozen=True)
class Repeats:
    """The questions of the bank that ask the same, the oldest first; and those that ask nearly the same."""

    same: tuple[Known, ...] = ()
    near: tuple[Known, ...] = ()

    @property
    def any(self) -> bool:
        return bool(self.same or self.near)


def repeats_of(school_id: int, asked: Sequence[Asked], besides: Iterable[int | None] = ()) -> list[Repeats]:
    """Return what a school's bank has of each, but for the questions ``besides`` (primary keys); one query for all."""
    folded_so = Question.objects.filter(
        school=school_id, current__folding__in={one.kin.folds for one in asked}
    ).exclude(pk__in=[pk for pk in besides if pk is not None])
    found = defaultdict(list)
    facts = ("pk", "number", "current__fingerprint", "current__folding", "current__punched_at")
    for pk, number, fingerprint, folding, punched_at in folded_so.order_by("number").values_list(*facts):
        found[folding].append((Known(pk, number), Asked(fingerprint, Kin(folding, punched_at))))
    return [_among(one, found[one.kin.folds]) for one in asked]


def _among(one: Asked, known: Sequence[tuple[Known, Asked]]) -> Repeats:
    same = tuple(question for question, other in known if other.fingerprint == one.fingerprint)
    near = (q for q, other in known if other.fingerprint != one.fingerprint and one.kin.is_near(other.kin))
    return Repeats(same, tuple(near)[:MOST])
