"""What can go wrong with sets and sittings. Each error is a sentence for the person who asked."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from bank.models import Question


class AssignmentsError(Exception):
    """Root of this app's errors; ``str(error)`` is a plain sentence."""


# --- sets and sending them ------------------------------------------------------------------------------
class SetError(AssignmentsError):
    """The deed does not fit the set as it is."""


class QuestionsNotReady(SetError):
    """Questions that are not ready cannot be set. ``reasons`` pairs each with the sentence that says why."""

    def __init__(self, reasons: Sequence[tuple[Question, str]]) -> None:
        said = " ".join(f"Question {question.number}: {why}" for question, why in reasons)
        super().__init__(f"Nothing was done, since not every question is ready. {said}")
        self.reasons = tuple(reasons)


class AssignmentError(AssignmentsError):
    """The deed does not fit the assignment as it is."""


class RulingError(AssignmentError):
    """The decision about a faulty question changes nothing, or leaves nothing."""


class SatInBrowser(AssignmentError):
    """Answers on paper of a pupil whose sitting in the browser is there already."""

    def __init__(self, names: Sequence[str]) -> None:
        have = "has" if len(names) == 1 else "have"
        super().__init__(
            f"{', '.join(names)} {have} begun this set in the browser meanwhile. Nothing was saved; "
            "clear that row to save the others."
        )


class TimeError(AssignmentError):
    """What was to be done to the time of a sitting does not fit it as it is. Nothing was changed."""


# --- sittings ----------------------------------------------------------------------------------------------
class NotOpen(AssignmentsError):
    """The set may not be started now. ``opens_at`` and ``closes_at`` say when it may."""

    def __init__(self, says: str, opens_at: datetime, closes_at: datetime) -> None:
        super().__init__(says)
        self.opens_at, self.closes_at = opens_at, closes_at


class Refused(AssignmentsError):
    """An event that is not kept. ``code`` is a word for the page's script, ``status`` the answer's."""

    code = "refused"
    status = 409


class OtherDevice(Refused):
    code = "other_device"

    def __init__(self) -> None:
        super().__init__("This set is now open on another device.")


class ChangedRepeat(Refused):
    code = "changed_repeat"

    def __init__(self) -> None:
        super().__init__("This choice was already saved with something else in it. The first one stays.")


class OrderTaken(Refused):
    """Another event of this device has this place in the order; ``next_seq`` is free."""

    code = "order_taken"

    def __init__(self, next_seq: int) -> None:
        super().__init__("Two choices were sent as one and the same. Please send this one again.")
        self.next_seq = next_seq


class AlreadyFinished(Refused):
    code = "finished"

    def __init__(self) -> None:
        super().__init__("You have finished this set, so this choice was not kept.")


class AlreadyTold(Refused):
    code = "told"

    def __init__(self) -> None:
        super().__init__("You have been told the answer to this question, so the choice stays as it was.")


class NothingToCheck(Refused):
    code = "nothing_chosen"

    def __init__(self) -> None:
        super().__init__("Choose a picture first. Then your answer can be checked.")


class NotCheckedSingly(Refused):
    code = "not_checked"

    def __init__(self) -> None:
        super().__init__("In this set answers are not checked one by one.")
