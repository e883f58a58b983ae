"""A set arranged by hand: some wrong pictures kept where they stand, the others drawn about them.

Wrong pictures have names that outlive a small change of the paper (the punch a little further left), so that what a
teacher chose can be found again on paper that changed meanwhile.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from functools import cached_property
from random import Random

from geometry.mistakes import Mistake
from geometry.teaching import DISTRACTORS, Candidate, Workings, draw

FEW = 12  # candidates of one mistake; with fewer, those of two mistakes are offered as well


def name_of(mistakes: Iterable[Mistake]) -> str:
    """Twelve hexadecimal digits for what went wrong, wherever exactly the paper lies; the first counts the mistakes."""
    told = [(m.kind, m.fold, m.before, m.hole, m.says) for m in mistakes]
    return f"{len(told):x}{hashlib.sha256(repr(told).encode()).hexdigest()}"[:12]


class Choice:
    """The wrong pictures of a question to choose from, by their names."""

    def __init__(self, workings: Workings):
        self.workings = workings

    @cached_property
    def singles(self) -> dict[str, Candidate]:
        return _named(self.workings.candidates())

    @cached_property
    def doubles(self) -> dict[str, Candidate]:
        return _named(self.workings.candidates(doubles=True))

    @property
    def offered(self) -> dict[str, Candidate]:
        """Those with one mistake; when they are few, those with two as well."""
        return self.singles if len(self.singles) >= FEW else self.doubles

    def find(self, name: str) -> Candidate | None:
        """The wrong picture of a name, or None when this paper does not give it."""
        return self._pool(name).get(name)

    def name(self, candidate: Candidate) -> str:
        """The name of a wrong picture that shows what ``candidate`` shows; "" for one that is not among these."""
        base = name_of(candidate.mistakes)
        alike = ((n, one) for n, one in self._pool(base).items() if n.partition("-")[0] == base)
        return next((n for n, one in alike if one.flat.keys == candidate.flat.keys), "")

    def _pool(self, name: str) -> dict[str, Candidate]:
        """Where a picture of that name would be. Those of two mistakes take long to find, and are seldom asked for."""
        return self.singles if name.startswith("1") else self.doubles

    def fitting(self, others: Sequence[Candidate]) -> dict[str, Candidate]:
        """The offered pictures that tell apart from each of these."""
        return {name: candidate for name, candidate in self.offered.items() if tell_apart(candidate, others)}


def _named(candidates: Iterable[Candidate]) -> dict[str, Candidate]:
    """Candidates by their names; of several with one name, the second is called -2, and so on."""
    named: dict[str, Candidate] = {}
    seen: Counter[str] = Counter()
    for candidate in candidates:
        name = name_of(candidate.mistakes)
        seen[name] += 1
        named[name if seen[name] == 1 else f"{name}-{seen[name]}"] = candidate
    return named


def tell_apart(candidate: Candidate, others: Iterable[Candidate]) -> bool:
    """True when a wrong picture differs visibly from each of the others."""
    return all(candidate.flat.is_apart_from(other.flat) for other in others)


def fill(
    choice: Choice, held: Sequence[Candidate], seed: int, *, avoid: Collection[Candidate] = ()
) -> tuple[Candidate, ...]:
    """The pictures drawn to make ``held`` four: by the rules if it can be, else any that tell apart, as many as do.

    ``avoid`` are pictures not to be drawn, as far as there are others.
    """
    count = DISTRACTORS - len(held)
    if count <= 0:
        return ()
    rng = Random(seed)  # noqa: S311  (a lot, not a secret)
    fitting = list(choice.fitting(held).values())
    fresh = [candidate for candidate in fitting if candidate not in avoid]
    for candidates in (fresh, fitting):
        drawn = draw(choice.workings, candidates, rng, held=held)
        if drawn:
            return drawn[len(held) :]
    if len(fitting) < count:
        fitting = [candidate for candidate in choice.doubles.values() if tell_apart(candidate, held)]
        drawn = draw(choice.workings, fitting, rng, held=held)
    fresh = [candidate for candidate in fitting if candidate not in avoid]
    return drawn[len(held) :] or _any_apart(fresh or fitting, rng, count)


def _any_apart(candidates: Sequence[Candidate], rng: Random, count: int) -> tuple[Candidate, ...]:
    drawn: list[Candidate] = []
    for candidate in rng.sample(candidates, len(candidates)):
        if len(drawn) < count and tell_apart(candidate, drawn):
            drawn.append(candidate)
    return tuple(drawn)
