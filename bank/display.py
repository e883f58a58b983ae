"""What pages show of versions: pictures and sentences, read in one query for any number of versions.

A version whose pictures are not rendered yet is drawn on the spot from its spec, so a page never waits for
a task. Pictures are ``bank.models.Picture`` rows: ``svg``, ``title``, ``description``, ``name``.

    shown = pictures_for(versions)          # one query
    shown[version.pk].stem                  # tuple of Picture, one for each fold, then the punched sheet
    shown[version.pk].in_order("CADBE")     # the five options as a pupil has them
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from bank.drawing import ALL_KINDS, Kind, draw_pictures
from bank.models import Picture, Version
from geometry.option_sets import OptionSet
from geometry.pictures import Picture as Drawing
from geometry.pictures import draw_marked_option, draw_stem
from geometry.spec import read_spec
from geometry.unfolding import unfold

LETTERS = "ABCDE"


@dataclass(frozen=True)
class Pictures:
    """The pictures of one version; ``options`` stand in the version's own order, A first.

    ``thumbs`` is the stem once more, with lines that stay clear at the size of a list's row.
    """

    stem: tuple[Picture, ...] = ()
    options: tuple[Picture, ...] = ()
    steps: tuple[Picture, ...] = ()  # the punched sheet, then one for each opening, the last fold first
    thumbs: tuple[Picture, ...] = ()

    def in_order(self, order: str = LETTERS) -> tuple[Picture, ...]:
        """Return the options as shown: ``order[0]`` is the version's letter that stands at A."""
        return tuple(self.options[LETTERS.index(letter)] for letter in order)


def pictures_for(versions: Iterable[Version], kinds: Collection[str] = ALL_KINDS) -> dict[int, Pictures]:
    """Return the pictures of each version by its primary key, with one query however many versions there are."""
    versions = list(versions)
    rows: dict[int, list[Picture]] = defaultdict(list)
    for picture in Picture.objects.filter(version__in=versions, kind__in=kinds):
        rows[picture.version_id].append(picture)
    return {version.pk: _arrange(_complete(version, rows[version.pk], kinds)) for version in versions}


def stem_pictures(version: Version) -> tuple[Picture, ...]:
    """Return the stem: one picture for each fold, then the folded and punched sheet."""
    return pictures_for([version], [Kind.STEM])[version.pk].stem


def option_pictures(version: Version, order: str = LETTERS) -> tuple[Picture, ...]:
    """Return the five options in the order shown: ``order[0]`` is the version's letter that stands at A."""
    return pictures_for([version], [Kind.OPTION])[version.pk].in_order(order)


def step_pictures(version: Version) -> tuple[Picture, ...]:
    """Return the unfolding: the punched sheet, then the sheet after each opening, the last fold first."""
    return pictures_for([version], [Kind.STEP])[version.pk].steps


def marked_pictures(version: Version, order: str = LETTERS) -> tuple[Drawing, ...]:
    """Return the options with the first wrong copy of each ringed and its true place dotted; drawn, not stored.

    A draft that has fewer than five has no more here.
    """
    unfolding = unfold(read_spec(version.spec))
    marked = [draw_marked_option(unfolding, o) for o in OptionSet.from_json(version.options).options]
    return tuple(marked[LETTERS.index(letter)] for letter in order if LETTERS.index(letter) < len(marked))


def thumbs_of(specs: Iterable[dict[str, Any]]) -> Iterator[tuple[Drawing, ...]]:
    """Yield the stem of each spec that is in no bank yet, with lines for a list; drawn, not stored."""
    for spec in specs:
        yield draw_stem(unfold(read_spec(spec)), size="small")


def option_facts(version: Version, letter: str) -> dict[str, Any]:
    """Return the stored option: ``label``, ``holes``, ``mistakes`` (each kind, fold, says), ``first_wrong_fold``."""
    return version.options["options"][LETTERS.index(letter)]


def option_says(version: Version, letter: str) -> str:
    """Say which mistake the option stands for, in the words stored with the version; of the key, that it is right."""
    if letter == version.key:
        return "The sheet unfolded: right at every fold."
    return " ".join(mistake["says"] for mistake in option_facts(version, letter)["mistakes"])


def _complete(version: Version, stored: list[Picture], kinds: Collection[str]) -> list[Picture]:
    """Return ``stored``, with each kind drawn now of which a picture is missing."""
    expected = {kind: version.offered if kind == Kind.OPTION else version.folds + 1 for kind in kinds}
    counts = {kind: sum(picture.kind == kind for picture in stored) for kind in kinds}
    missing = [kind for kind in kinds if counts[kind] != expected[kind]]
    kept = [picture for picture in stored if picture.kind not in missing]
    return kept + (draw_pictures(version, missing) if missing else [])


def _arrange(pictures: list[Picture]) -> Pictures:
    def of(kind: str, *, last_first: bool = False) -> tuple[Picture, ...]:
        found = (picture for picture in pictures if picture.kind == kind)
        return tuple(sorted(found, key=lambda picture: picture.place, reverse=last_first))

    return Pictures(of(Kind.STEM), of(Kind.OPTION), of(Kind.STEP, last_first=True), of(Kind.THUMB))
