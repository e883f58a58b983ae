"""Make one variant of a question there and then, for a page that needs one of each of several questions."""

from __future__ import annotations

from time import monotonic

from accounts.models import User
from bank.asking import lot_for
from bank.drafting import VARIATIONS
from bank.models import Question, State
from bank.services.batches import TRIES
from bank.services.questions import add_questions, content_of
from geometry.errors import GeometryError, OptionSetError
from geometry.option_sets import OptionSet
from geometry.variants import variants

NOT_FOUND = "No parallel question was found that passes every check."


def add_variant(*, question: Question, by: User, until: float) -> Question | None:
    """Save a variant that the school has not got yet as a ready question, and return it.

    ``None`` when it was not found by ``until`` (``monotonic`` seconds): asking again goes on looking. Raises
    ``GeometryError``, which says why, where none is found however long one looks. It depends on the question and on
    what is there already alone which variant is made.
    """
    assert question.current is not None, "every saved question has a version"
    model = OptionSet.from_json(question.current.options)
    known = list(Question.objects.filter(school=question.school_id).values_list("current__fingerprint", flat=True))
    why: GeometryError = OptionSetError(NOT_FOUND)
    for tries in range(TRIES):
        try:
            ((_, made),) = variants(model, 1, lot_for(question.pk, len(known), tries), known, VARIATIONS[model.sets])
        except OptionSetError as error:
            why = error
        else:
            content = content_of(made.spec, made)
            if all(check["ok"] for check in content["checks"]):
                (saved,) = add_questions(
                    school=question.school,
                    author=by,
                    contents=[content],
                    tags=[tag.name for tag in question.tags.all()],
                    state=State.READY,
                    origin=question,
                )
                return saved
        if monotonic() > until:
            return None
    raise why
