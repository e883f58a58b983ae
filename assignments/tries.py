"""Questions to try that nobody marks or keeps: the one that shows how a sitting works, and variants of one answered.

Such a question is in no bank. It comes from its folds and a seed, the same each time, and only its drawings are
remembered for a while. The browser knows its options by keyed digests, as in a sitting.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from functools import cache, lru_cache

from django.utils.crypto import salted_hmac

from assignments.marking import Act, Asked, mark
from assignments.papers import LETTERS, Place
from assignments.pupil_pages import WORDS, Option
from assignments.queries import mistakes_behind
from assignments.reviews import Review, review_of_version
from bank.drawing import draw_pictures
from bank.models import Picture, Version
from geometry.errors import GeometryError
from geometry.option_sets import OptionSet, make_options
from geometry.spec import Spec, read_spec
from geometry.variants import variants

MOST = 5  # variants of one question, a third of a second each; then they begin again
SEED = 11
EXAMPLE = {
    "version": 1,
    "sheet": {"kind": "square"},
    "folds": [{"crease": [["1/2", "0"], ["1/2", "1"]], "moves": ["0", "1/2"], "way": "over", "layers": "all"}],
    "punches": [{"shape": "drop", "at": ["17/24", "3/4"], "size": "1/6", "turn": 0}],
}
NO_TIME = datetime(2000, 1, 1, tzinfo=UTC)


@dataclass(frozen=True)
class Try:
    """A question to try: ``name`` tells it from others, ``order`` is which option stands at A to E."""

    name: str
    version: Version  # not stored
    order: str
    stem: tuple[Picture, ...]
    pictures: tuple[Picture, ...]  # of the options, in the version's own order
    steps: tuple[Picture, ...]

    def options(self, chosen: str = "", struck: str = "") -> list[Option]:
        """Return the options as shown, with the browser's name of each; two of them as chosen and ruled out."""
        return [
            Option(shown, self._named(own), self._drawn(own), self._named(own) == chosen, self._named(own) == struck)
            for shown, own in zip(LETTERS, self.order, strict=True)
        ]

    def review(self, chosen: str) -> Review | None:
        """Return what there is to say of the option so named; ``None`` if there is no such option."""
        letter = next((own for own in self.order if self._named(own) == chosen), None)
        if letter is None:
            return None
        asked = Asked(0, 1, self.version.key, mistakes_behind(self.version))
        act = Act(0, "choose", letter, 1, 1, NO_TIME, is_late=False)
        own = mark([act], [asked], NO_TIME).each[0]
        return review_of_version(self.version, Place(1, 0, self.order), own, self.steps)

    def _named(self, letter: str) -> str:
        return salted_hmac("assignments.try", f"{self.name}:{letter}", algorithm="sha256").hexdigest()[:16]

    def _drawn(self, letter: str) -> str:
        return WORDS.sub("", self.pictures[LETTERS.index(letter)].svg)


@cache
def example() -> Try:
    """The question that shows how a sitting works; it is in no set."""
    spec = read_spec(EXAMPLE)
    return _drawn_up("example", spec, make_options(spec, seed=SEED))


def variant(version: Version, number: int, known: Iterable[str] = ()) -> Try | None:
    """Return the variant of a stored version with this number (from 1); ``None`` where none is found.

    It is none of the ``known`` fingerprints: its answer is told, and a neighbour may still be sitting the other paper.
    """
    return _variant(version.pk, version.fingerprint, number, tuple(sorted(known)))


@lru_cache(maxsize=128)
def _variant(version: int, fingerprint: str, number: int, known: tuple[str, ...]) -> Try | None:
    options = OptionSet.from_json(Version.objects.get(pk=version).options)
    for model in (options, options.spec):  # an older set drawn by lot has no sisters stored: then its folds alone
        try:
            # Each begins as the one before.
            found = variants(model, min(number, MOST), int(fingerprint[:8], 16), known)
        except GeometryError:
            continue
        spec, made = found[(number - 1) % len(found)]
        return _drawn_up(f"{version}.{made.fingerprint}.{number}", spec, made)
    return None


def _drawn_up(name: str, spec: Spec, made: OptionSet) -> Try:
    version = Version(spec=spec.to_json(), options=made.to_json(), folds=len(spec.folds))
    stem, pictures, steps = (
        tuple(draw_pictures(version, [kind])) for kind in (Picture.Kind.STEM, Picture.Kind.OPTION, Picture.Kind.STEP)
    )
    return Try(name, version, "".join(LETTERS), stem, pictures, steps)
