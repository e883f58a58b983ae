"""Fill a set by rule: say what is wanted, look at what was picked, add it. And draw a set's keys anew."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods, require_POST

from accounts.access import roles
from accounts.models import SchoolClass
from assignments.errors import SetError
from assignments.forms.rules import LONGEST_SEED, PickedForm, RuleForm
from assignments.models import QuestionSet
from assignments.outlook import outlook_of
from assignments.queries import median_seconds
from assignments.querysets import SETTERS
from assignments.rules import questions_by_rule
from assignments.services import sets as services
from assignments.services.keys import redraw_keys
from assignments.views import person
from bank.display import pictures_for
from bank.errors import BankError
from bank.models import Picture, Question, Tag, Version

setters_only = roles(*SETTERS)


@require_http_methods(["GET", "HEAD", "POST"])
@setters_only
def fill(request: HttpRequest, pk: int) -> HttpResponse:
    """The rule lives in the address, and with it the preview; posting adds what the preview showed."""
    question_set = get_object_or_404(QuestionSet.objects.managed_by(person(request)), pk=pk)
    bank = Question.objects.visible_to(person(request))
    refused = ""
    if request.method == "POST":
        form = PickedForm(request.POST, questions=bank.select_related("current"))
        refused = " ".join(map(str, form.errors.get("question", ()))) or _add(request, question_set, form)
        if not refused:
            return redirect("assignments:set_detail", pk)
    classes = SchoolClass.objects.visible_to(person(request)).current().order_by("name")
    tags = Tag.objects.filter(school=person(request).school_id)
    rule = RuleForm(request.GET if "count" in request.GET else None, classes=classes, tags=tags)
    context = {"set": question_set, "form": rule, "refused": refused, "picked": None}
    if rule.is_valid():
        context |= _preview(rule, questions_by_rule(question_set, bank, rule.rule()))
    status = 400 if refused or (rule.is_bound and rule.errors) else 200
    return render(request, "assignments/set_rule.html", context, status=status)


@require_POST
@setters_only
def redraw(request: HttpRequest, pk: int) -> HttpResponse:
    question_set = get_object_or_404(QuestionSet.objects.managed_by(person(request)), pk=pk)
    try:
        count = redraw_keys(question_set=question_set, by=person(request))
    except BankError as error:
        messages.error(request, str(error))
    else:
        messages.success(request, f"The letters of {count} question{'s' if count != 1 else ''} were drawn anew.")
    return redirect("assignments:set_detail", pk)


def _add(request: HttpRequest, question_set: QuestionSet, form: PickedForm) -> str:
    """Add the questions; return why not, or "" when they are added."""
    try:
        added = services.add_questions(question_set=question_set, questions=form.cleaned_data["question"])
    except SetError as error:
        return str(error)
    messages.success(request, f"{added} question{'s' if added != 1 else ''} added.")
    return ""


def _preview(form: RuleForm, questions: list[Question]) -> dict[str, object]:
    pks = [question.current_id for question in questions if question.current_id is not None]
    versions = list(Version.objects.filter(pk__in=pks))
    shown = pictures_for(versions, [Picture.Kind.THUMB])
    seed = form.cleaned_data["seed"] or 0
    return {
        "picked": [{"question": q, "stem": shown[q.current_id].thumbs} for q in questions if q.current_id],
        "outlook": outlook_of(versions, median_seconds(versions)),
        "next_seed": (seed + 1) % LONGEST_SEED,
        "wanted": form.cleaned_data["count"],
    }
