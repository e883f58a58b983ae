"""Filters that other rooms add to the bank: the bank knows nothing of classes that sat, nor of answers.

A room registers them in its ``AppConfig.ready``. Who asks decides what there is to choose from, so that an address
cannot ask for what the page would not offer.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from accounts.models import User
    from bank.queries import QuestionQuerySet


@dataclass(frozen=True)
class OutsideFilter:
    """``name`` stands in the address; ``choices`` are values with their words; ``narrow`` keeps what has one.

    ``note`` says beside the choices what they go by, where that is not plain.
    """

    name: str
    label: str
    choices: Callable[[User], Sequence[tuple[str, str]]]
    narrow: Callable[[QuestionQuerySet, Sequence[str]], QuestionQuerySet]
    note: str = ""


_filters: dict[str, OutsideFilter] = {}


def register(added: OutsideFilter) -> None:
    _filters[added.name] = added


def outside_filters() -> tuple[OutsideFilter, ...]:
    return tuple(_filters.values())
