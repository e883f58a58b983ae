"""The workbench's options: what its fields ask for, and what its buttons make of them.

A letter's picture is carried by a hidden field, ``option-0`` for A, as a token (``bank.arranging``). ``desk`` tells
what lies open below the options: ``pick-2``, the pictures to choose from for C, or ``edit-2``, the holes of C in rows
``hole-0-at`` and so on. While rows are open they are what stands at their letter.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from bank.arranging import MOST_HOLES, Arrangement, Token, arrange, by_hand, candidate_of, own_token, pinned
from bank.forms.holes import HoleForm
from bank.models import Version
from geometry.arranging import fill, name_of
from geometry.handmade import HandHole, cuts_of, faults_by_hand, mark_of, read_holes
from geometry.option_sets import LABELS
from geometry.shapes import SHAPES
from geometry.teaching import Candidate
from geometry.unfolding import Unfolding

_DESK = re.compile(r"(pick|edit)-([0-4])", re.ASCII)
_DEED = re.compile(r"(lock|unlock|another|left|right|pick|edit)-option-([0-4])", re.ASCII)
_TAKE = re.compile(r"take-([0-9a-f]{12}(?:-\d{1,3})?)", re.ASCII)
_REMOVE = re.compile(r"remove-hole-(\d{1,2})", re.ASCII)
DONE, ADD_HOLE, OTHERS = "close-desk", "add-hole", "other-options"
OFFERED = 40  # pictures to choose from that are shown at most

Typed = dict[str, str]


def is_about_options(deed: str) -> bool:
    """True for the deeds of this module."""
    patterns = (_DEED, _TAKE, _REMOVE)
    return deed in (DONE, ADD_HOLE, OTHERS) or any(pattern.fullmatch(deed) for pattern in patterns)


@dataclass
class OptionsTyped:
    """The options as typed, for paper that can be unfolded."""

    typed: Mapping[str, str]
    unfolding: Unfolding
    seed: int | None
    saved: Version | None

    @cached_property
    def tokens(self) -> list[Token]:
        return [Token.read(self.typed.get(f"option-{place}", "")) for place in range(len(LABELS))]

    @cached_property
    def desk(self) -> tuple[str, int]:
        """What is open below the options, and for which place: ("", 0) when nothing is."""
        match = _DESK.fullmatch(self.typed.get("desk", ""))
        return (match[1], int(match[2])) if match else ("", 0)

    @property
    def letter(self) -> str:
        """The letter of the open place."""
        return LABELS[self.desk[1]]

    @property
    def has_held(self) -> bool:
        """True when some picture stays when the others are drawn again."""
        return any(token.is_held for token in self.tokens)

    @cached_property
    def rows(self) -> list[HoleForm]:
        """The open picture's holes."""
        count = self.typed.get("holes", "")
        number = min(int(count), MOST_HOLES) if count.isascii() and count.isdigit() and len(count) < 4 else 0
        shapes = self.shapes
        opened = self.desk[0] == "edit"
        return [HoleForm(self.typed, prefix=f"hole-{n}", shapes=shapes) for n in range(number if opened else 0)]

    @property
    def shapes(self) -> list[str]:
        """What the punches are called in the rows' lists."""
        names = [SHAPES[p.shape].label if p.shape in SHAPES else "own outline" for p in self.unfolding.spec.punches]
        return [name if names.count(name) == 1 else f"{name} {n}" for n, name in enumerate(names, 1)]

    @cached_property
    def holes(self) -> list[HandHole] | None:
        """The open picture's holes; None when a row cannot be read."""
        readable = [row.is_valid() for row in self.rows]  # every row is asked, so that every fault is told
        return [row.to_hole() for row in self.rows] if all(readable) else None

    @cached_property
    def edited(self) -> tuple[int, Candidate] | None:
        """The place under the teacher's hands, and its picture, once it is another than it was."""
        if self.desk[0] != "edit" or not self.holes:
            return None
        candidate = by_hand(self.unfolding, self.holes)
        return (self.desk[1], candidate) if candidate and not self._is_as_before(self.holes) else None

    def _is_as_before(self, holes: Sequence[HandHole]) -> bool:
        """True when the rows still say what stood there when they were opened."""
        return _digest(holes) == self.typed.get("hole-before", "")

    @cached_property
    def arrangement(self) -> Arrangement:
        return arrange(self.unfolding, self.tokens, seed=self.seed, saved=self.saved, edited=self.edited)

    @cached_property
    def desk_says(self) -> list[str]:
        """What keeps the picture under the teacher's hands from being an option."""
        if self.desk[0] != "edit":
            return []
        if self.holes is None:
            return [f"Hole {n}: {error}" for n, row in enumerate(self.rows, 1) for error in row.sentences]
        cuts, workings = cuts_of(self.unfolding), self.arrangement.choice.workings
        if self.holes and by_hand(self.unfolding, self.holes) is None:
            return ["A hole has a shape that is not there any more. Choose another shape, or remove it."]
        return faults_by_hand(workings.paper, [mark_of(hole, cuts) for hole in self.holes], workings.key)

    @cached_property
    def offered(self) -> dict[str, Candidate]:
        """The pictures to choose from for the open place, by their names."""
        if self.desk[0] != "pick":
            return {}
        options = self.arrangement.option_set.options
        here = name_of(options[self.desk[1]].mistakes) if self.desk[1] < len(options) else ""
        fitting = self.arrangement.choice.fitting(self.arrangement.others(self.desk[1]))
        return dict([(n, c) for n, c in fitting.items() if n.partition("-")[0] != here][:OFFERED])

    def after(self, deed: str) -> Typed:
        """Return the fields after a deed about options."""
        if match := _REMOVE.fullmatch(deed):
            return self._with_holes([_shown(row) for n, row in enumerate(self.rows) if n != int(match[1])])
        if deed == ADD_HOLE:
            return self._with_holes([*(_shown(row) for row in self.rows), HoleForm.show(HandHole(0, (0.5, 0.5)))])
        tokens = self._pinned()
        if deed == OTHERS:
            return self._redrawn(tokens)
        if match := _TAKE.fullmatch(deed):
            tokens = _put(tokens, self.desk[1], Token(match[1], locked=True))
            return self._with(tokens, desk="")
        match = _DEED.fullmatch(deed)
        if match is None:
            return self._with(tokens, desk="")
        return self._after_one(tokens, match[1], int(match[2]))

    def _after_one(self, tokens: list[Token], deed: str, place: int) -> Typed:
        if deed in ("left", "right"):
            other = place + (1 if deed == "right" else -1)
            if 0 <= other < len(tokens) and place < len(tokens):
                tokens[place], tokens[other] = tokens[other], tokens[place]
            return self._with(tokens, desk="")
        if deed == "edit":
            return self._opened(tokens, place)
        if deed == "pick":
            return self._with(tokens, desk=f"pick-{place}")
        if place < len(tokens) and deed == "another":
            tokens[place] = self._another(tokens, place)
        elif place < len(tokens) and tokens[place].text != "key":
            tokens[place] = Token(tokens[place].text, locked=deed == "lock")
        return self._with(tokens, desk="")

    def _pinned(self) -> list[Token]:
        """Every option where it stands, the one under the teacher's hands as made by hand."""
        tokens = pinned(self.arrangement)
        if self.edited and self.holes:
            tokens = _put(tokens, self.edited[0], own_token(self.holes))
        return tokens

    def _another(self, tokens: Sequence[Token], place: int) -> Token:
        """A wrong picture that is not there yet, drawn for one place."""
        choice, seed = self.arrangement.choice, (self.seed or 1) + 1
        there = candidate_of(choice, self.arrangement.option_set.options[place]).flat.keys
        here = [candidate for candidate in choice.offered.values() if candidate.flat.keys == there]
        drawn = fill(choice, self.arrangement.others(place), seed, avoid=here)
        return Token(choice.name(drawn[0])) if drawn else tokens[place]

    def _redrawn(self, tokens: list[Token]) -> Typed:
        """Draw again all that is not locked; the letters too, when nothing is."""
        held = [token if token.is_held else Token() for token in tokens]
        return self._with(held if any(token.text for token in held) else [], desk="")

    def _opened(self, tokens: list[Token], place: int) -> Typed:
        """Lay the holes of a picture open in rows; for an empty place, those of the key to begin with."""
        options = self.arrangement.option_set.options
        key = self.arrangement.option_set.option(self.arrangement.option_set.key)
        source = options[place] if place < len(options) else key
        holes = read_holes(source.holes, cuts_of(self.unfolding))[:MOST_HOLES]
        typed = self._with(tokens, desk=f"edit-{place}")
        return _with_rows(typed, [HoleForm.show(hole) for hole in holes]) | {"hole-before": _digest(holes)}

    def _with_holes(self, rows: list[Typed]) -> Typed:
        return _with_rows(dict(self.typed), rows)

    def _with(self, tokens: Sequence[Token], *, desk: str) -> Typed:
        """The fields with these tokens, a seed that was not used yet, and no open rows."""
        kept = {name: value for name, value in self.typed.items() if not name.startswith(("option-", "hole-"))}
        written = {f"option-{place}": token.write() for place, token in enumerate(tokens)}
        return kept | written | {"desk": desk, "holes": "0", "seed": str((self.seed or 1) + 1)}


def _put(tokens: list[Token], place: int, token: Token) -> list[Token]:
    """The tokens with one put at a place, or after the last where nothing stands yet."""
    return [*tokens[:place], token, *tokens[place + 1 :]]


def _with_rows(typed: Typed, rows: Sequence[Mapping[str, str]]) -> Typed:
    kept = {name: value for name, value in typed.items() if not re.match(r"hole-\d", name)}
    flat = {f"hole-{n}-{name}": value for n, row in enumerate(rows) for name, value in row.items()}
    return kept | flat | {"holes": str(len(rows))}


def _digest(holes: Sequence[HandHole]) -> str:
    """Equal for holes that lie alike to a millionth of the sheet."""
    told = [(h.punch, *(round(v, 6) + 0.0 for v in (*h.at, h.turn)), h.over) for h in holes]
    return hashlib.sha256(repr(told).encode()).hexdigest()[:12]


def _shown(row: HoleForm) -> Typed:
    """A row as it was typed."""
    start = f"{row.prefix}-"
    return {name.removeprefix(start): value for name, value in row.data.items() if name.startswith(start)}
