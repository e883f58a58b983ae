"""What adults do with questions and sets."""

from __future__ import annotations

from functools import cache

from assignments.services import keys, parallel
from assignments.services import sets as set_services
from assignments.services.clock import database_now
from bank.asking import lot_for
from bank.drafting import VARIATIONS
from bank.models import Question, State
from bank.services import questions as bank
from geometry.errors import GeometryError
from geometry.option_sets import OptionSet, make_options
from geometry.spec import read_spec
from geometry.variants import variants
from tests.bank.factories import keep_drawings
from tests.histories.life import Life, Nothing
from tests.small_school import SPECS, spec_of


@cache
def options(spec: int, seed: int) -> OptionSet:
    return make_options(read_spec(spec_of(*SPECS[spec])), seed=seed)


@cache
def variant(spec: int, seed: int, turn: int) -> OptionSet | None:
    """A parallel of such a question that passes its checks, made once for all histories; ``None``: none is found."""
    model = options(spec, seed)
    try:
        ((_, made),) = variants(model, 1, lot_for(spec, seed, turn), [], VARIATIONS[model.sets])
    except GeometryError:
        return None
    return made if all(check["ok"] for check in bank.content_of(made.spec, made)["checks"]) else None


def new_question(life: Life) -> None:
    spec, seed = life.lot.randrange(len(SPECS)), life.lot.randint(1, 2)
    made = options(spec, seed)
    question = bank.save_question(
        school=life.school,
        author=life.teacher,
        spec=made.spec,
        option_set=made,
        tags=[life.name("tag")] if life.maybe() else (),
        note=life.name("Note"),
        state=State.READY if life.maybe(0.9) else State.DRAFT,
    )
    life.made_of[question.pk] = (spec, seed)
    keep_drawings(question)


def edit_question(life: Life) -> None:
    question = life.one(life.questions())
    spec, seed = life.made_of.get(question.pk, (0, 1))
    made = options(spec if life.maybe() else (spec + 1) % len(SPECS), 3 - seed)
    before = question.current
    saved = bank.save_question(
        school=life.school,
        author=life.one(life.adults()),
        spec=made.spec,
        option_set=made,
        note=question.note,
        state=question.state,
        question=question,
        based_on=before.number,
    )
    if saved.current_id != before.pk and life.maybe(0.7):
        keep_drawings(saved)


def add_variant(life: Life) -> None:
    keep_variant(life, life.one(life.questions().filter(origin=None)))


def keep_variant(life: Life, question: Question) -> None:
    made = variant(*life.made_of.get(question.pk, (0, 1)), life.lot.randint(1, 2))
    if made is None or question.current.level != made.difficulty.level:
        raise Nothing
    (saved,) = bank.add_questions(
        school=life.school,
        author=life.teacher,
        contents=[bank.content_of(made.spec, made)],
        state=State.READY if life.maybe(0.9) else State.DRAFT,
        origin=question,
    )
    keep_drawings(saved)


def change_state(life: Life) -> None:
    question = life.one(life.questions())
    if question.state == State.RETIRED:
        bank.restore_question(question=question)
    else:
        bank.set_state(question=question, state=life.lot.choice([State.RETIRED, State.READY, State.DRAFT]))


def restore_version(life: Life) -> None:
    question = life.one(life.questions())
    version = life.one(question.versions.all())
    bank.restore_version(question=question, version=version, based_on=question.current.number, by=life.teacher)


def copy_question(life: Life) -> None:
    bank.copy_question(question=life.one(life.questions()), by=life.teacher)


def new_set(life: Life) -> None:
    made = set_services.make_set(title=life.name("Set"), by=life.teacher)
    ready = life.questions().filter(state=State.READY)
    if not life.maybe(0.1):
        set_services.add_questions(question_set=made, questions=life.some(ready, 5))


def change_set(life: Life) -> None:
    held = life.one(life.sets())
    deed = life.lot.randrange(6)
    entries = list(held.entries.all())
    if deed == 0:
        set_services.rename_set(question_set=held, title=life.name("Renamed"))
    elif deed == 1:
        set_services.add_questions(question_set=held, questions=life.some(life.questions(), 2))
    elif deed == 2 and entries:
        set_services.remove_entry(question_set=held, entry_id=life.one(entries).pk)
    elif deed == 3 and entries:
        set_services.move_entry(question_set=held, entry_id=life.one(entries).pk, by_places=life.lot.randint(-2, 2))
    elif deed == 4:
        keys.redraw_keys(question_set=held, by=life.teacher)
    elif held.retired_at:
        set_services.restore_set(question_set=held)
    else:
        set_services.retire_set(question_set=held, at=database_now())


def make_parallel(life: Life) -> None:
    held = life.one(life.sets())
    parallel.make_parallel_set(pairs=parallel.pairs_of(held), title=life.name("Parallel"), by=life.teacher)


DEEDS = {
    new_question: 2,
    edit_question: 3,
    add_variant: 2,
    change_state: 2,
    restore_version: 1,
    copy_question: 1,
    new_set: 2,
    change_set: 4,
    make_parallel: 2,
}
