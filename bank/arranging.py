"""The options as a teacher arranged them: which picture stands at which letter, which are locked, which drawn.

A letter's *token* is a short text that a form can carry: ``key``; ``saved B``, the option of the version one started
from; a wrong picture's name (``geometry.arranging``); ``own [...]``, holes set by hand; nothing for a picture to be
drawn. ``lock`` before it keeps it when the others are drawn again. A picture that is neither locked nor made by hand
gives way when the paper changes so that it cannot come about any more, or looks too much like another.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import isfinite
from random import Random

import shapely

from bank.models import Version
from geometry.arranging import Choice, fill, name_of, tell_apart
from geometry.errors import OptionSetError
from geometry.flat import Flat
from geometry.handmade import PIECE, HandHole, cuts_of, mark_of, own_mistake, read_holes
from geometry.marks import regions
from geometry.mistakes import OWN
from geometry.option_sets import LABELS, Option, OptionSet
from geometry.teaching import Candidate, choose_from, set_of, work_out
from geometry.unfolding import Unfolding

KEY, SAVED, OWNED, LOCK = "key", "saved", "own", "lock "
LONGEST = 40_000  # characters of a token: some hundred holes
MOST_HOLES = 64
FARTHEST = 100  # sheet widths from the sheet's corner, as for a punch


@dataclass(frozen=True)
class Token:
    """What a teacher wants at a letter; ``text`` without the lock."""

    text: str = ""
    locked: bool = False

    @classmethod
    def read(cls, text: str) -> Token:
        text = text[:LONGEST].strip()
        return cls(text.removeprefix(LOCK), text.startswith(LOCK))

    def write(self) -> str:
        return (LOCK if self.locked else "") + self.text

    @property
    def is_own(self) -> bool:
        return self.text.startswith(OWNED + " ")

    @property
    def is_held(self) -> bool:
        """True for pictures that stay when the others are drawn again."""
        return self.locked or self.is_own


@dataclass(frozen=True)
class Arrangement:
    """Five options, or as many as there are; ``tokens`` say what stands at each, ``says`` what had to give way."""

    option_set: OptionSet
    tokens: tuple[Token, ...]
    choice: Choice
    says: tuple[str, ...] = ()

    def others(self, place: int) -> list[Candidate]:
        """The wrong pictures at every other letter."""
        wrong = [option for at, option in enumerate(self.option_set.options) if at != place and option.mistakes]
        return [candidate_of(self.choice, option) for option in wrong]


def own_token(holes: Sequence[HandHole]) -> Token:
    """The token of a picture made by hand."""
    rows = [[hole.punch, *hole.at, hole.turn, int(hole.over), hole.points] for hole in holes]
    return Token(f"{OWNED} {json.dumps(rows, separators=(',', ':'))}")


def own_holes(token: Token) -> tuple[HandHole, ...] | None:
    """The holes of such a token; None when it cannot be read."""
    try:
        rows = json.loads(token.text.removeprefix(OWNED))
        return tuple(
            HandHole(
                int(punch),
                (float(x), float(y)),
                float(turn),
                bool(over),
                tuple((float(u), float(v)) for u, v in points),
            )
            for punch, x, y, turn, over, points in rows[:MOST_HOLES]
        )
    except (ValueError, TypeError, RecursionError, OverflowError):
        return None


def by_hand(unfolding: Unfolding, holes: Sequence[HandHole]) -> Candidate | None:
    """A picture made by hand; None when it has no hole, or one whose shape is not there."""
    cuts = cuts_of(unfolding)
    if not holes or not all(_can_be(hole, len(cuts)) for hole in holes):
        return None
    marks = tuple(mark_of(hole, cuts) for hole in holes)
    return Candidate(Flat(marks), (own_mistake(unfolding, regions(marks)),))


def _can_be(hole: HandHole, punches: int) -> bool:
    """True for a hole of a punch that is there, or of an outline that is one, somewhere near the sheet."""
    numbers = [*hole.at, hole.turn / 10, *(v for point in hole.points for v in point)]
    if not all(isfinite(v) and abs(v) <= FARTHEST for v in numbers):
        return False
    if hole.punch != PIECE:
        return 0 <= hole.punch < punches
    return len(hole.points) >= 3 and bool(shapely.Polygon(hole.points).is_valid)


def tokens_of(saved: Version) -> list[str]:
    """The tokens with which the editing of a version begins."""
    return [KEY if label == saved.key else f"{SAVED} {label}" for label in _labels(saved)]


def _labels(saved: Version) -> list[str]:
    return [option["label"] for option in saved.options["options"]]


def arrange(
    unfolding: Unfolding,
    tokens: Sequence[Token],
    *,
    seed: int | None = None,
    saved: Version | None = None,
    edited: tuple[int, Candidate] | None = None,
) -> Arrangement:
    """The options that the tokens ask for, the rest drawn from ``seed``; ``edited`` is a place's picture in the making.

    Without tokens or a seed they are the saved ones, if the paper is the same. Where no set keeps the rules, ``says``
    tells why, and the options are those there are: the key at least.
    """
    choice = _choice_on(unfolding)
    wanted = [token for token in tokens if token.text]
    if edited is None:
        if saved is not None and saved.spec == unfolding.spec.to_json():
            before = wanted or ([] if seed else [Token(text) for text in tokens_of(saved)])
            if _is_untouched(before, saved):
                return _as_saved(choice, before, saved)
        if not wanted:
            return _drawn(choice, seed or 1)
    return _Arranging(unfolding, choice, seed or 1, saved).arrange(tokens, edited)


@lru_cache(maxsize=8)
def _choice_on(unfolding: Unfolding) -> Choice:
    """The wrong pictures of paper. Kept, as most deeds about options ask for those of the same paper."""
    return Choice(work_out(unfolding))


def _drawn(choice: Choice, seed: int) -> Arrangement:
    try:
        option_set = choose_from(choice.workings, Random(seed))  # noqa: S311  (a lot, not a secret)
    except OptionSetError as error:
        only = set_of(choice.workings, [(choice.workings.key, ())])
        return Arrangement(only, (Token(KEY),), choice, (str(error),))
    return Arrangement(option_set, tuple(Token() for _ in option_set.options), choice)


def pinned(arrangement: Arrangement) -> list[Token]:
    """The tokens under which every option stands where it stands now, drawn ones too."""
    pairs = zip(arrangement.tokens, arrangement.option_set.options, strict=True)
    return [token if token.text else _token_for(arrangement.choice, option) for token, option in pairs]


def _token_for(choice: Choice, option: Option) -> Token:
    """The name of a drawn option."""
    return Token(choice.name(candidate_of(choice, option)) if option.mistakes else KEY)


def _is_untouched(tokens: Sequence[Token], saved: Version) -> bool:
    """True when the saved options are wanted as they were, in whatever order."""
    return sorted(token.text for token in tokens) == sorted(tokens_of(saved))


def _as_saved(choice: Choice, tokens: Sequence[Token], saved: Version) -> Arrangement:
    before = OptionSet.from_json(saved.options)
    options = [before.option(_letter(token, saved)) for token in tokens]
    relabelled = tuple(replace(option, label=label) for option, label in zip(options, LABELS, strict=False))
    return Arrangement(replace(before, options=relabelled), tuple(tokens), choice)


def _letter(token: Token, saved: Version) -> str:
    return saved.key if token.text == KEY else token.text.removeprefix(SAVED).strip()


def candidate_of(choice: Choice, option: Option) -> Candidate:
    """An option as a wrong picture, its holes read off it."""
    cuts = cuts_of(choice.workings.unfolding)
    marks = tuple(mark_of(hole, cuts) for hole in read_holes(option.holes, cuts))
    return Candidate(Flat(marks), option.mistakes)


def _told_apart(count: int) -> str:
    if count < 2:
        return f"There is {'one' if count else 'no'} wrong picture here"
    return f"Only {count} wrong pictures tell apart from each other here"


@dataclass(frozen=True)
class _Arranging:
    unfolding: Unfolding
    choice: Choice
    seed: int
    saved: Version | None

    def arrange(self, tokens: Sequence[Token], edited: tuple[int, Candidate] | None) -> Arrangement:
        wanted = (*tokens, *[Token()] * len(LABELS))[: len(LABELS)]
        held, says = self._held(wanted, edited)
        given = dict(enumerate(wanted))
        key = next((place for place, token in given.items() if token.text == KEY), None)
        drawn = iter(fill(self.choice, list(held.values()), self.seed))
        free = [place for place in given if place not in held and place != key]
        if key is None and free:
            key = Random(self.seed).choice(free)  # noqa: S311  (a lot, not a secret)
            free.remove(key)
        held |= dict(zip(free, drawn, strict=False))
        return self._arranged(held, key or 0, wanted, says)

    def _held(
        self, wanted: Sequence[Token], edited: tuple[int, Candidate] | None
    ) -> tuple[dict[int, Candidate], list[str]]:
        """The pictures that stay, the teacher's own first, and what is said of locked ones that cannot."""
        held = {edited[0]: edited[1]} if edited else {}
        says = []
        for place in sorted(range(len(wanted)), key=lambda place: not wanted[place].is_held):
            token = wanted[place]
            if place in held or not token.text or token.text == KEY:
                continue
            candidate = self._find(token)
            if candidate is not None and (token.is_held or tell_apart(candidate, held.values())):
                held[place] = candidate
            elif token.is_held:
                says.append(f"The picture kept at {LABELS[place]} cannot come about on this paper any more.")
        return held, says

    def _find(self, token: Token) -> Candidate | None:
        if token.is_own:
            holes = own_holes(token)
            return by_hand(self.unfolding, holes) if holes else None
        if not token.text.startswith(SAVED):
            return self.choice.find(token.text)
        letter = token.text.removeprefix(SAVED).strip()
        if self.saved is None or letter not in _labels(self.saved):
            return None
        option = OptionSet.from_json(self.saved.options).option(letter)
        is_own = any(mistake.kind == OWN for mistake in option.mistakes)
        if is_own or self.saved.spec == self.unfolding.spec.to_json():
            return candidate_of(self.choice, option)
        return self.choice.find(name_of(option.mistakes))

    def _arranged(self, wrong: dict[int, Candidate], key: int, wanted: Sequence[Token], says: list[str]) -> Arrangement:
        """The set in the order of places, those that stayed empty left out."""
        places = sorted({*wrong, key})
        shown = [(self.choice.workings.key, ()) if p == key else (wrong[p].flat, wrong[p].mistakes) for p in places]
        option_set = set_of(self.choice.workings, shown)
        tokens = [Token(KEY) if p == key else self._token(wanted[p], wrong[p]) for p in places]
        if len(places) < len(LABELS) and not says:
            says = [f"{_told_apart(len(places) - 1)}; four are needed."]
        return Arrangement(option_set, tuple(tokens), self.choice, tuple(says))

    def _token(self, wanted: Token, candidate: Candidate) -> Token:
        """The token that stood there if its picture does; else the name of the one drawn."""
        found = self._find(wanted) if wanted.text and wanted.text != KEY else None
        if found is not None and found.flat.keys == candidate.flat.keys:
            return wanted
        return Token(self.choice.name(candidate))
