"""Which mistakes stand behind wrong choices: counted, ranked, and what to teach next.

A wrong option may stand for two mistakes; then its choice counts for both. Pure: marks in, counts and beliefs out.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from typing import Generic, TypeVar

from assignments.habits import FEWEST, Answer, Belief, believe
from assignments.marking import Mark, Marks, Outcome
from geometry.mistakes import KINDS, OWN

Pupil = TypeVar("Pupil", bound=Hashable)
A_LINE = 30  # discs


@dataclass(frozen=True)
class MistakeCount(Generic[Pupil]):
    """One kind of mistake: how often it was made, by whom (most often first), and in which questions."""

    kind: str
    count: int
    pupils: tuple[tuple[Pupil, int], ...]
    positions: tuple[int, ...]

    @property
    def label(self) -> str:
        return label_of(self.kind)

    @property
    def definition(self) -> str:
        return KINDS[self.kind].definition if self.kind in KINDS else ""

    @property
    def repeated(self) -> int:
        """How many pupils made it more than once: for them it is no slip."""
        return sum(count > 1 for _, count in self.pupils)

    @property
    def discs(self) -> range:
        """One for each time, up to a line's worth."""
        return range(min(self.count, A_LINE))

    @property
    def more(self) -> int:
        """How many times there is no disc for."""
        return max(0, self.count - A_LINE)


@dataclass(frozen=True)
class Finding(Generic[Pupil]):
    """What one pupil's answers tell: the belief, how often the habit named was offered and followed, and without one
    the mistake made most often.
    """

    pupil: Pupil
    belief: Belief
    wrong: int
    offered: int = 0
    followed: int = 0
    most: tuple[str, int] = ("", 0)

    @property
    def kind(self) -> str | None:
        return self.belief.named

    @property
    def says(self) -> str:
        """The finding as a plain sentence for a teacher."""
        if self.belief.is_too_few:
            return f"{self.belief.answers} answer{_s(self.belief.answers)}: too few to judge."
        if self.kind:
            percent = min(99, int(100 * self.belief.sureness))  # a model is never quite sure
            return (
                f"{self.belief.words.capitalize()} ({percent} %): {_in_midst(self.kind)}. "
                f"Chosen {self.followed} of {self.offered} times offered."
            )
        if not self.wrong:
            return "No mistake in what was answered."
        kind, times = self.most
        often = f" Most often: {_in_midst(kind)}, {times} times." if times > 1 else ""
        return f"No pattern in {self.wrong} wrong choice{_s(self.wrong)}.{often}"


@dataclass(frozen=True)
class Lesson(Generic[Pupil]):
    """One thing to teach: a kind of mistake, and the pupils who likely make a habit of it, the surest first."""

    mistake: MistakeCount[Pupil]
    habitual: tuple[Finding[Pupil], ...]


def count_mistakes(marked: Iterable[tuple[Pupil, Marks]]) -> list[MistakeCount[Pupil]]:
    """Return the kinds of mistake behind the wrong choices, the most frequent first."""
    by_pupil: dict[str, Counter[Pupil]] = defaultdict(Counter)
    positions: dict[str, set[int]] = defaultdict(set)
    for pupil, marks in marked:
        for mark in marks.each:
            for kind in _kinds(mark):
                by_pupil[kind][pupil] += 1
                positions[kind].add(mark.asked.position)
    counts = [
        MistakeCount(kind, pupils.total(), tuple(pupils.most_common()), tuple(sorted(positions[kind])))
        for kind, pupils in by_pupil.items()
    ]
    return sorted(counts, key=lambda count: (-count.count, count.kind))


def find_habits(marked: Iterable[tuple[Pupil, Marks]]) -> list[Finding[Pupil]]:
    """Return a finding for each pupil, in the order given."""
    return [_find(pupil, marks.each) for pupil, marks in marked]


def find_habit(pupil: Pupil, sittings: Iterable[Marks]) -> Finding[Pupil]:
    """Return what all of one pupil's sittings tell together."""
    return _find(pupil, [mark for marks in sittings for mark in marks.each])


def lessons_from(counts: Iterable[MistakeCount[Pupil]], findings: Iterable[Finding[Pupil]]) -> list[Lesson[Pupil]]:
    """Rank what to teach: first what most pupils did more than once, then what was most often chosen.

    What a single pupil makes a habit of is for that pupil's practice, not for the whole class first.
    """
    habitual: dict[str, list[Finding[Pupil]]] = defaultdict(list)
    for finding in findings:
        if finding.kind:
            habitual[finding.kind].append(finding)
    lessons = [
        Lesson(count, tuple(sorted(habitual[count.kind], key=lambda one: -one.belief.sureness)))
        for count in counts
        if count.kind != OWN
    ]
    return sorted(lessons, key=lambda lesson: (-lesson.mistake.repeated, -lesson.mistake.count, lesson.mistake.kind))


def label_of(kind: str) -> str:
    """Return a mistake's name for teachers; a kind no longer known is called as it was stored."""
    if kind == OWN:
        return "Made by hand"
    return KINDS[kind].label if kind in KINDS else kind.replace("-", " ").capitalize()


def _in_midst(kind: str) -> str:
    """Return a mistake's name as it stands in the midst of a sentence."""
    label = label_of(kind)
    return label[:1].lower() + label[1:]


def are_too_few(marked: Iterable[Marks]) -> bool:
    """Whether there are too few answers to judge by."""
    return sum(marks.right + marks.wrong for marks in marked) < FEWEST


def _find(pupil: Pupil, marks: Iterable[Mark]) -> Finding[Pupil]:
    answered = [mark for mark in marks if mark.outcome in (Outcome.RIGHT, Outcome.WRONG)]
    belief = believe((_answer(mark) for mark in answered), no_habits=(OWN,))
    wrong = sum(mark.outcome is Outcome.WRONG for mark in answered)
    offered = [mark for mark in answered if belief.named in {m.kind for ms in mark.asked.mistakes.values() for m in ms}]
    followed = sum(belief.named in _kinds(mark) for mark in offered)
    made = Counter(kind for mark in answered for kind in _kinds(mark) if kind != OWN)
    most = min(made.items(), key=lambda one: (-one[1], one[0]), default=("", 0))
    return Finding(pupil, belief, wrong, len(offered), followed, most)


def _answer(mark: Mark) -> Answer:
    offered = {letter: frozenset(mistake.kind for mistake in made) for letter, made in mark.asked.mistakes.items()}
    return Answer(offered | dict.fromkeys(mark.asked.accepts, frozenset()), mark.choice)


def _kinds(mark: Mark) -> list[str]:
    return sorted({mistake.kind for mistake in mark.mistakes})


def _s(count: int) -> str:
    return "" if count == 1 else "s"
