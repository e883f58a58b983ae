"""What can go wrong in the bank. Each error is a sentence for the person who asked."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any


class BankError(Exception):
    """Root of the bank's errors; ``str(error)`` is a plain sentence."""


class StaleEdit(BankError):
    """The question was changed since the editor opened it. Nothing was saved."""

    def __init__(self, current: int, editor: str) -> None:
        super().__init__(
            f"{editor} saved version {current} of this question while you were editing. Yours is not saved yet; "
            "both are below."
        )
        self.current = current


class NotReady(BankError):
    """A question that fails a check cannot be made ready. ``failed`` are the checks that say why."""

    STARTS = "This question cannot be made ready yet."

    def __init__(self, failed: Sequence[dict[str, Any]]) -> None:
        reasons = " ".join(str(check["says"]) for check in failed)
        super().__init__(f"{self.STARTS} {reasons}")
        self.failed = tuple(failed)


class WrongState(BankError):
    """The deed does not fit the question's state."""


class TagError(BankError):
    """A tag that cannot be read."""


class BatchError(BankError):
    """The deed does not fit the batch as it is."""


class TooMuchAsked(BatchError):
    """Somebody asked for more than one person may have made at a time. ``wait`` is in seconds, for a next try."""

    def __init__(self, says: str, wait: int) -> None:
        super().__init__(says)
        self.wait = wait


class ExchangeError(BankError):
    """A file of questions, or a question in it, that cannot be read."""


class SelectionError(BankError):
    """Questions chosen for a deed that cannot be done to them."""


class SearchError(BankError):
    """A search that cannot be saved, or not under this name."""
