"""Tags: one spelling for each, in lower case with single spaces, so that "Thirds" and "thirds" are one tag."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping

from accounts.models import School
from bank.errors import TagError
from bank.models import Question, Tag

LONGEST = Tag._meta.get_field("name").max_length or 40
MOST = 12


def read_tags(names: Iterable[str]) -> list[str]:
    """Return tidy, different tag names in the order given; ``TagError`` says which cannot be one."""
    tidy = dict.fromkeys(name for name in map(_tidy, names) if name)
    if len(tidy) > MOST:
        raise TagError(f"A question has {MOST} tags at most; here are {len(tidy)}.")
    return list(tidy)


def set_tags(*, question: Question, names: Iterable[str]) -> None:
    """Give ``question`` these tags and no others, making those its school does not have yet."""
    wanted = read_tags(names)
    Tag.objects.bulk_create([Tag(school_id=question.school_id, name=name) for name in wanted], ignore_conflicts=True)
    question.tags.set(Tag.objects.filter(school_id=question.school_id, name__in=wanted))


def tag_many(*, school: School, names: Mapping[int, Iterable[str]]) -> None:
    """Add tags to many questions of ``school``, by primary key, in a few queries; those they have stay."""
    wanted = {name for each in names.values() for name in each}
    Tag.objects.bulk_create([Tag(school=school, name=name) for name in sorted(wanted)], ignore_conflicts=True)
    known = dict(Tag.objects.filter(school=school, name__in=wanted).values_list("name", "pk"))
    through = Question.tags.through
    ties = [through(question_id=pk, tag_id=known[name]) for pk, each in names.items() for name in each]
    through.objects.bulk_create(ties, ignore_conflicts=True, batch_size=1000)


def _tidy(name: str) -> str:
    name = " ".join(unicodedata.normalize("NFC", name).lower().split())
    if not name.replace(" ", "").isprintable():
        raise TagError(f"The tag {name!a} has a character that cannot be seen.")
    if len(name) > LONGEST:
        raise TagError(f'A tag has {LONGEST} characters at most: "{name[:20]}…" has {len(name)}.')
    return name
