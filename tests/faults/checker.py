"""Hold what the pupils saw against what is stored (``manage.py history``). Each violation is a sentence.

Knows nothing of the program: an acknowledged choice must be there once and unchanged, nothing else may be there, what
was read back must be what counts, and a choice is late exactly when the pupil's time was over.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator

from tests.faults.journal import Answer, Begun, Journal

GRACE = 5.0  # seconds after the deadline in which a choice that was under way is still taken
KEPT = ("saved", "late")


def check(journal: Journal, history: list[dict], *, set_back: float = 0.0, put_forward: float = 0.0) -> list[str]:
    """Return the violations; ``set_back`` and ``put_forward``: by how many seconds the clock was changed in all."""
    rules = (lost, twice, invented, changed, misread, two_sittings, reopened, moved)
    found = [f"{rule.__name__}: {says}" for rule in rules for says in rule(journal, history)]
    found += [f"late_in_time: {says}" for says in late_in_time(journal, put_forward)]
    found += [f"timely_too_late: {says}" for says in timely_too_late(journal, set_back)]
    return found + [f"odd: {says}" for says in journal.odd]


def lost(journal: Journal, history: list[dict]) -> Iterator[str]:
    """R1: acknowledged and not stored."""
    stored = {(line["sitting"], line["client_id"]) for line in history}
    for answer in journal.answers:
        if answer.said in KEPT and (answer.sent.sitting, answer.sent.client_id) not in stored:
            yield f"{answer.sent} was called {answer.said}"


def twice(_journal: Journal, history: list[dict]) -> Iterator[str]:
    """R3, R4: stored twice under one name, or two in one place of the order."""
    for what in ("client_id",), ("epoch", "seq"):
        counted = Counter((line["sitting"], *(line[name] for name in what)) for line in history)
        yield from (f"{', '.join(what)} {key} is stored {times} times" for key, times in counted.items() if times > 1)


def invented(journal: Journal, history: list[dict]) -> Iterator[str]:
    """R2: stored, and no pupil sent it."""
    sent = {(one.sitting, one.client_id) for one in journal.sent}
    yield from (str(line) for line in history if (line["sitting"], line["client_id"]) not in sent)


def changed(journal: Journal, history: list[dict]) -> Iterator[str]:
    """R1: stored otherwise than sent. The page's names of the options stand for letters, one for one."""
    sent = {(one.sitting, one.client_id): one for one in journal.sent}
    letters: dict[tuple, dict[str, set[str]]] = defaultdict(lambda: defaultdict(set))
    for line in history:
        one = sent.get((line["sitting"], line["client_id"]))
        if one is None:
            continue
        if (one.place, one.kind, one.epoch, one.seq) != tuple(line[n] for n in ("place", "kind", "epoch", "seq")):
            yield f"{one} is stored as {line}"
        letters[one.sitting, one.place][one.option].add(line["option"])
    for where, names in letters.items():
        stored = [letter for kept in names.values() for letter in kept]
        if any(len(kept) > 1 for kept in names.values()) or len(set(stored)) < len(stored):
            yield f"the options of {where} are stored as {dict(names)}"
    said = {(a.sent.sitting, a.sent.client_id): a.said == "late" for a in journal.answers if a.said in KEPT}
    for line in history:
        if said.get((line["sitting"], line["client_id"]), line["is_late"]) != line["is_late"]:
            yield f"the pupil was told otherwise of lateness: {line}"


def misread(journal: Journal, _history: list[dict]) -> Iterator[str]:
    """R5, R4: a page that shows another choice than the last one saved."""
    for seen in journal.seen:
        if seen.chosen not in seen.possible:
            yield f"sitting {seen.sitting}, place {seen.place} shows {seen.chosen!r}, not of {sorted(seen.possible)}"


def late_in_time(journal: Journal, put_forward: float) -> Iterator[str]:
    """R6: called late although the reply came before the pupil's time was over."""
    for begun, answer in _timed(journal):
        early = begun.asked_at + begun.seconds + GRACE - put_forward - answer.answered_at
        if answer.said == "late" and early > 0.1:
            yield f"{answer.sent} was called late {early:.2f} s early"


def timely_too_late(journal: Journal, set_back: float) -> Iterator[str]:
    """R6, R7: more time than due: called saved although it first went out after the pupil's time and grace."""
    for begun, answer in _timed(journal):
        over = answer.sent_at - (begun.answered_at + begun.seconds + GRACE + set_back)
        if answer.said == "saved" and over > 0.1:
            yield f"{answer.sent} was called saved {over:.2f} s too late"


def two_sittings(journal: Journal, _history: list[dict]) -> Iterator[str]:
    """R9: two sittings of one pupil."""
    sittings: dict[str, set[int]] = defaultdict(set)
    for begun in journal.begun:
        sittings[begun.pupil].add(begun.sitting)
    yield from (f"{pupil} has sittings {sorted(own)}" for pupil, own in sittings.items() if len(own) > 1)


def reopened(_journal: Journal, history: list[dict]) -> Iterator[str]:
    """R7: accepted after a late one, or received before one that is stored already. ``history`` is in stored order."""
    before: dict[int, dict] = {}
    for line in history:
        last = before.get(line["sitting"], line)
        if last["is_late"] and not line["is_late"]:
            yield f"accepted after {last['client_id']}, which was late: {line}"
        if line["received_at"] < last["received_at"]:
            yield f"received before {last['client_id']}, which was stored first: {line}"
        before[line["sitting"]] = line


def moved(journal: Journal, _history: list[dict]) -> Iterator[str]:
    """R10: a question whose options changed places or names during the sitting."""
    orders: dict[tuple[int, int], set[tuple[str, ...]]] = defaultdict(set)
    for seen in journal.seen:
        orders[seen.sitting, seen.place].add(seen.options)
    yield from (f"{where} was shown as {sorted(shown)}" for where, shown in orders.items() if len(shown) > 1)


def _timed(journal: Journal) -> Iterable[tuple[Begun, Answer]]:
    begun = {one.sitting: one for one in journal.begun}
    return ((begun[answer.sent.sitting], answer) for answer in journal.answers if answer.sent.sitting in begun)
