"""Adding pupils from a list that a teacher has looked over."""

from __future__ import annotations

from collections.abc import Collection

from accounts.errors import NameTakenError, NothingAddedError
from accounts.models import SchoolClass, User
from accounts.pupil_lists import read_list
from accounts.queries import plan_list
from accounts.services.cards import Card, NewPupil
from accounts.services.classes import add_pupils


def add_from_list(*, school_class: SchoolClass, text: str, lines: Collection[int], by: User) -> list[Card]:
    """Add the pupils that stand in these lines of the list: all of them or, if one cannot be, none.

    Raises NothingAddedError, and BadListError when the text is no list.
    """
    chosen = [planned for planned in plan_list(read_list(text), school_class) if planned.row.line in lines]
    if not chosen:
        raise NothingAddedError("Nothing was added: choose at least one pupil.")
    if all(planned.is_here for planned in chosen):
        raise NothingAddedError("Nothing was added: all these pupils are in the class already.")
    if not all(planned.is_good for planned in chosen):
        raise NothingAddedError("Nothing was added: the class has changed since. Look the list over again.")
    pupils = [NewPupil(planned.row.name, planned.row.extra_time) for planned in chosen]
    try:
        return add_pupils(school_class=school_class, pupils=pupils, by=by)
    except NameTakenError as error:
        raise NothingAddedError(
            "Nothing was added: somebody else has just added one of these names. Look the list over again."
        ) from error
