"""A parallel paper of a set: see which variant stands for which question, have missing ones made, make the set."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from accounts.access import roles
from assignments.errors import SetError
from assignments.forms.sets import TitleForm
from assignments.models import QuestionSet
from assignments.querysets import SETTERS
from assignments.services import parallel as services
from assignments.views import person
from bank.display import Pictures, pictures_for
from bank.models import Picture, Question

setters_only = roles(*SETTERS)


@require_http_methods(["GET", "HEAD", "POST"])
@setters_only
def parallel(request: HttpRequest, pk: int) -> HttpResponse:
    """Posting ``make`` has missing variants made; posting a title makes the set."""
    question_set = get_object_or_404(QuestionSet.objects.managed_by(person(request)), pk=pk)
    if "make" in request.POST:
        return _make_missing(request, question_set)
    beside = services.parallel_sets(question_set)
    title = f"{question_set.title[:71]}, Paper {len(beside) + 2}"
    form = TitleForm(request.POST if request.method == "POST" else None, initial={"title": title})
    pairs = services.pairs_of(question_set)
    if form.is_valid() and pairs:
        try:
            made = services.make_parallel_set(pairs=pairs, title=form.cleaned_data["title"], by=person(request))
        except SetError as error:
            form.add_error(None, str(error))
        else:
            messages.success(
                request, "The parallel set is made. It is printed and assigned as any other, or given as Paper 2."
            )
            return redirect("assignments:set_detail", made.pk)
    context: dict[str, Any] = {"set": question_set, "form": form, "rows": _rows(pairs), "beside": beside}
    context["lacking"] = [pair.question for pair in pairs if pair.variant is None]
    context["varied"] = len(pairs) - len(context["lacking"])
    return render(request, "assignments/set_parallel.html", context, status=400 if form.is_bound else 200)


def _make_missing(request: HttpRequest, question_set: QuestionSet) -> HttpResponse:
    made, says = services.make_missing(question_set=question_set, by=person(request))
    if made:
        messages.success(request, f"{made} variant{'s' if made != 1 else ''} made. Look at them before you use them.")
    for sentence in says:
        messages.warning(request, sentence)
    return redirect("assignments:set_parallel", question_set.pk)


def _rows(pairs: list[services.Pair]) -> list[dict[str, object]]:
    both = [question for pair in pairs for question in pair if question is not None]
    shown = pictures_for([question.current for question in both if question.current], [Picture.Kind.THUMB])
    return [{"pair": pair, "stems": [_stem(shown, question) for question in pair if question]} for pair in pairs]


def _stem(shown: dict[int, Pictures], question: Question) -> tuple[Picture, ...]:
    return shown[question.current_id].thumbs if question.current_id else ()
