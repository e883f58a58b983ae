"""Put questions that were chosen in the bank into a set; to print them, go on to its booklet."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from accounts.access import roles
from assignments.errors import SetError
from assignments.forms.putting import PutForm
from assignments.models import QuestionSet
from assignments.querysets import SETTERS
from assignments.services.sets import MOST_QUESTIONS, put_questions, why_not_ready
from assignments.views import person
from bank.errors import SelectionError
from bank.models import Question
from bank.selection import Selection, read_selection

RECENT = 20  # sets offered, the newest


@require_POST
@roles(*SETTERS)
def put(request: HttpRequest) -> HttpResponse:
    """Ask which set; sent with ``do``, put them there."""
    try:
        selection = read_selection(request.POST, person(request), most=MOST_QUESTIONS)
    except SelectionError as error:
        messages.error(request, str(error))
        return redirect("bank:list")
    questions = sorted(selection.questions.select_related("current"), key=lambda one: selection.ids.index(one.pk))
    unready = [(question, why) for question in questions if (why := why_not_ready(question))]
    sets = QuestionSet.objects.managed_by(person(request)).filter(retired_at=None).order_by("-created_at", "-pk")
    form = PutForm(request.POST if "do" in request.POST else None, sets=sets[:RECENT], unready=len(unready))
    if form.is_valid():
        leave = {question.pk for question, _ in unready} if form.cleaned_data.get("leave_out") else set()
        try:
            return _put(request, form, [question for question in questions if question.pk not in leave])
        except SetError as error:
            form.add_error(None, str(error))
    return _page(request, selection, form, unready)


def _put(request: HttpRequest, form: PutForm, questions: list[Question]) -> HttpResponse:
    title = form.cleaned_data["title"]
    question_set, count = put_questions(question_set=form.chosen, title=title, questions=questions, by=person(request))
    messages.success(request, f"{count} question{'s' if count != 1 else ''} added.")
    page = "assignments:print" if request.POST.get("then") == "print" else "assignments:set_detail"
    return redirect(page, question_set.pk)


def _page(
    request: HttpRequest, selection: Selection, form: PutForm, unready: list[tuple[Question, str]]
) -> HttpResponse:
    context = {
        "selection": selection,
        "form": form,
        "unready": unready[:12],
        "more_unready": len(unready) - 12,
        "then": "print" if request.POST.get("then") == "print" else "",
    }
    return render(request, "assignments/set_put.html", context, status=400 if form.errors else 200)
