"""Which pupil gets which paper of an assignment that has several.

In turn, by the class list, when it is sent; that is kept (``Addressee``), so that a pupil who joins or leaves moves
nobody else to another paper. Who joins later gets the paper that fewest have. A sitting keeps the paper that it is of,
whatever was planned.
"""

from __future__ import annotations

from collections import Counter

from accounts.models import User
from assignments.models import AssignedQuestion, Assignment
from assignments.queries import pupils_of


def papers_given(assignment: Assignment) -> dict[int, int]:
    """Return the number of each pupil's paper by the pupil's primary key (3 queries); none where all have the same."""
    if assignment.papers == 1:
        return {}
    given: dict[int, int] = dict(assignment.addressees.values_list("pupil", "paper"))
    given |= dict(assignment.sittings.values_list("pupil", "paper__0__paper"))
    for pupil in pupils_of(assignment).order_by("pk").values_list("pk", flat=True):
        if pupil not in given:
            given[pupil] = _fewest(given, assignment.papers)
    return given


def paper_for(assignment: Assignment, pupil: User) -> int:
    """Return the number of the paper that a pupil is to begin; 1 where there is no other."""
    if assignment.papers == 1:
        return 1
    planned = assignment.addressees.filter(pupil=pupil).values_list("paper", flat=True).first()
    return planned or papers_given(assignment).get(pupil.pk, 1)


def name_of(question: AssignedQuestion, assignment: Assignment) -> str:
    """Return what adults' pages call a question: "Question 3", of several papers "Question 3, Paper 2"."""
    name = f"Question {question.position}"
    return f"{name}, Paper {question.paper}" if assignment.papers > 1 else name


def _fewest(given: dict[int, int], papers: int) -> int:
    counts = Counter(given.values())
    return min(range(1, papers + 1), key=lambda paper: counts[paper])
