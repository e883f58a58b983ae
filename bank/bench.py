"""What lies on the mat and under it: pictures of the paper, and what was found of its options."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from bank.arranging import Arrangement, by_hand
from bank.composing import Paper
from bank.forms.arranged import OptionsTyped
from bank.reasons import reasons_for
from bank.snaps import Hold, hold_after
from geometry.around import given
from geometry.checks import Check
from geometry.errors import GeometryError
from geometry.faces import Face
from geometry.generation import LOT
from geometry.mistakes import KINDS, OWN, Mistake
from geometry.option_sets import LABELS, Option
from geometry.pictures import Picture, draw_option, draw_stem
from geometry.pictures.frame import MARGIN, WIDTH, frame_of
from geometry.spec import Spec
from geometry.unfolding import Unfolding


@dataclass(frozen=True)
class DrawnOption:
    """An option under the sheet. Without a picture it is a letter at which nothing stands yet."""

    letter: str
    place: int
    picture: Picture | None = None
    is_key: bool = False
    says: str = ""
    is_locked: bool = False
    is_own: bool = False
    is_last: bool = False

    @classmethod
    def of(cls, option: Option, place: int, arrangement: Arrangement) -> DrawnOption:
        option_set = arrangement.option_set
        picture = draw_option(option_set.spec.sheet, option.holes, title=f"Option {option.label}", size="small")
        says = " ".join(mistake.says for mistake in option.mistakes)
        token, is_own = arrangement.tokens[place], any(mistake.kind == OWN for mistake in option.mistakes)
        is_last = place == len(option_set.options) - 1
        is_key = option.label == option_set.key
        return cls(option.label, place, picture, is_key, says, token.locked, is_own, is_last)


@dataclass(frozen=True)
class Offered:
    """A wrong picture to choose: ``label`` is the kind of mistake in a word or two."""

    name: str
    picture: Picture
    label: str
    says: str


@dataclass(frozen=True)
class Desk:
    """What lies open below the options: the holes of one in rows, or pictures to choose from."""

    picture: Picture | None = None
    offered: tuple[Offered, ...] = ()


@dataclass(frozen=True)
class Scale:
    """How a picture's units lie on the sheet, so that a script can read a click: x = (u - margin) / unit + left."""

    left: float
    top: float
    unit: int = WIDTH
    margin: int = MARGIN


@dataclass(frozen=True)
class Drawn:
    """The paper in pictures.

    ``holds`` are, for each picture of the stem, what a hand can take hold of before that fold (of the punched sheet,
    as it lies); ``faces`` how each layer lies folded and came there, for a script that carries a punch over.
    """

    stem: tuple[Picture, ...] = ()
    holds: tuple[Hold, ...] = ()
    faces: str = ""
    flat: Picture | None = None
    holes: int = 0
    layers: tuple[int, ...] = ()
    scale: Scale | None = None

    @property
    def layers_say(self) -> str:
        """Through how many layers the punches go, in a few words."""
        counts = [str(count) for count in self.layers]
        if len(set(counts)) > 1:
            return f"Through {', '.join(counts[:-1])} and {counts[-1]} layers"
        each = "Each through" if len(counts) > 1 else "Through"
        return f"{each} {counts[0]} layer{'' if counts[0] == '1' else 's'}" if counts else ""


@dataclass(frozen=True)
class Findings:
    """The options and what is to be said of them; empty while there are none.

    ``no_sister`` says why no question drawn by lot can be looked for around one that can be guessed.
    """

    options: tuple[DrawnOption, ...] = ()
    checks: tuple[Check, ...] = ()
    level: int | None = None
    reasons: tuple[str, ...] = ()
    desk: Desk = Desk()
    can_be_guessed: bool = False
    no_sister: str = ""

    @property
    def failed(self) -> int:
        """How many checks failed."""
        return sum(not check.ok for check in self.checks)


def draw_paper(paper: Paper) -> Drawn:
    """Draw as much of the paper as can be folded: at a fault, the folds before it."""
    unfolding = paper.unfolding or paper.as_far
    return _draw(unfolding, whole=paper.unfolding is not None) if unfolding else Drawn()


@lru_cache(maxsize=8)
def _draw(unfolding: Unfolding, *, whole: bool) -> Drawn:
    """Kept, as the paper stays the same while options are arranged."""
    sheet, folds, folded = unfolding.spec.sheet, unfolding.spec.folds, unfolding.folded
    regions = [hole.region for hole in unfolding.holes()]
    frame = frame_of(sheet)
    return Drawn(
        stem=draw_stem(unfolding),
        holds=tuple(hold_after(sheet, folds[:made]) for made in range(len(folds) + 1)),
        faces=";".join(map(_face, folded.states[-1].faces)) if whole else "",
        flat=draw_option(sheet, regions, title="The sheet unfolded") if whole else None,
        holes=len(regions),
        layers=unfolding.layers,
        scale=Scale(frame.left, frame.top),
    )


def draw_findings(options: OptionsTyped | None) -> Findings:
    if options is None:
        return Findings()
    arrangement = options.arrangement
    option_set = arrangement.option_set
    drawn = [DrawnOption.of(option, place, arrangement) for place, option in enumerate(option_set.options)]
    drawn += [DrawnOption(letter, place) for place, letter in enumerate(LABELS) if place >= len(drawn)]
    can_be_guessed = option_set.sets != LOT
    return Findings(
        options=tuple(drawn),
        checks=option_set.checks(options.unfolding),
        level=option_set.difficulty.level,
        reasons=tuple(reasons_for(option_set.difficulty.to_json())),
        desk=draw_desk(options),
        can_be_guessed=can_be_guessed,
        no_sister=_no_sister(option_set.spec) if can_be_guessed else "",
    )


def _no_sister(spec: Spec) -> str:
    try:
        given(spec)
    except GeometryError as error:
        return str(error)
    return ""


def draw_desk(options: OptionsTyped) -> Desk:
    """The open picture as its rows now stand, or the pictures to choose from."""
    sheet = options.unfolding.spec.sheet
    if options.desk[0] == "edit":
        made = by_hand(options.unfolding, options.holes or [])
        return Desk(draw_option(sheet, made.flat.regions if made else (), title=f"Option {options.letter}"))
    offered = (
        Offered(
            name,
            draw_option(sheet, candidate.flat.regions, title="A wrong picture", size="small"),
            _label(candidate.mistakes),
            " ".join(mistake.says for mistake in candidate.mistakes),
        )
        for name, candidate in options.offered.items()
    )
    return Desk(offered=tuple(offered))


def _label(mistakes: tuple[Mistake, ...]) -> str:
    return " and ".join(KINDS[mistake.kind].label for mistake in mistakes)


def _face(face: Face) -> str:
    """A layer as it lies folded, "x,y x,y ..", and the motion that brought it there, "a b c d e f"."""
    (a, b, e), (c, d, f) = face.motion.matrix().tolist()
    outline = " ".join(f"{x:.6g},{y:.6g}" for x, y in face.folded_xy)
    return f"{outline}|{' '.join(f'{v:.9g}' for v in (a, b, c, d, e, f))}"
