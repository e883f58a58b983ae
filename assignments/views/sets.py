"""Sets of questions: the list, one set with its order, and questions picked for it from the bank."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from django import forms
from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import F, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from accounts.access import adults_only, roles
from assignments.errors import SetError
from assignments.forms.sets import OrderForm, PickForm, TitleForm
from assignments.models import Assignment, QuestionSet
from assignments.outlook import SECONDS_A_QUESTION, outlook_of
from assignments.queries import median_seconds
from assignments.querysets import SETTERS
from assignments.services import sets as services
from assignments.views import person, sent
from bank.display import Pictures, pictures_for
from bank.filters import count_facets, read_filters
from bank.models import Picture, Question, State, Tag

A_PAGE = 30
setters_only = roles(*SETTERS)


@require_safe
@adults_only
def listing(request: HttpRequest) -> HttpResponse:
    retired = request.GET.get("retired") == "1"
    visible = QuestionSet.objects.visible_to(person(request))
    shown = (
        visible.filter(retired_at__isnull=not retired)
        .with_counts()
        .select_related("author")
        .order_by("-created_at", "-pk")
    )
    shown = shown.annotate(predicted=F("asked") * SECONDS_A_QUESTION)
    context = {
        "page": Paginator(shown, A_PAGE).get_page(request.GET.get("page")),
        "retired": retired,
        "has_others": visible.filter(retired_at__isnull=retired).exists(),
        "may_change": person(request).role in SETTERS,
    }
    return render(request, "assignments/sets.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@setters_only
def new(request: HttpRequest) -> HttpResponse:
    form = TitleForm(sent(request))
    if form.is_valid():
        made = services.make_set(title=form.cleaned_data["title"], by=person(request))
        return redirect("assignments:set_add", made.pk)
    return render(request, "assignments/set_form.html", {"form": form}, status=_status(form))


@require_http_methods(["GET", "HEAD", "POST"])
@setters_only
def rename(request: HttpRequest, pk: int) -> HttpResponse:
    question_set = _managed(request, pk)
    form = TitleForm(sent(request), initial={"title": question_set.title})
    if form.is_valid():
        services.rename_set(question_set=question_set, title=form.cleaned_data["title"])
        messages.success(request, "The set is renamed.")
        return redirect("assignments:set_detail", pk)
    return render(request, "assignments/set_form.html", {"form": form, "set": question_set}, status=_status(form))


@require_safe
@adults_only
def detail(request: HttpRequest, pk: int) -> HttpResponse:
    question_set = get_object_or_404(QuestionSet.objects.visible_to(person(request)), pk=pk)
    return _detail(request, question_set)


@require_http_methods(["GET", "HEAD", "POST"])
@setters_only
def add(request: HttpRequest, pk: int) -> HttpResponse:
    """Pick ready questions from the bank by ticking them; the filters are the bank's."""
    question_set = _managed(request, pk)
    bank = Question.objects.visible_to(person(request))
    form = PickForm(sent(request), questions=bank.select_related("current"))
    if form.is_valid():
        try:
            added = services.add_questions(question_set=question_set, questions=form.cleaned_data["question"])
        except SetError as error:
            form.add_error("question", str(error))
        else:
            messages.success(request, f"{added} question{'s' if added != 1 else ''} added.")
            return redirect("assignments:set_detail", pk)
    context = _bank_to_pick_from(request) | {"set": question_set, "form": form}
    context["there"] = set(question_set.entries.values_list("question", flat=True))
    context["ticked"] = set(request.POST.getlist("question"))
    return render(request, "assignments/set_add.html", context, status=_status(form))


@require_POST
@setters_only
def order(request: HttpRequest, pk: int) -> HttpResponse:
    """Move one question by its buttons, or put all in the order of their number fields."""
    question_set = _managed(request, pk)
    form = OrderForm(request.POST, entries=list(question_set.entries.all()))
    if not form.is_valid():
        messages.error(request, "The place of a question is a whole number from 1 to 100. The order stays as it was.")
        return _detail(request, question_set, order=form, status=400)
    if form.moved:
        entry_id, by_places = form.moved
        services.move_entry(question_set=question_set, entry_id=entry_id, by_places=by_places)
    else:
        services.order_entries(question_set=question_set, numbers=form.numbers)
    return redirect("assignments:set_detail", pk)


@require_POST
@setters_only
def remove(request: HttpRequest, pk: int) -> HttpResponse:
    question_set = _managed(request, pk)
    entry = request.POST.get("entry", "")
    if entry.isascii() and entry.isdigit() and len(entry) < 19:
        services.remove_entry(question_set=question_set, entry_id=int(entry))
    return redirect("assignments:set_detail", pk)


@require_POST
@setters_only
def retire(request: HttpRequest, pk: int) -> HttpResponse:
    question_set = _managed(request, pk)
    services.retire_set(question_set=question_set, at=timezone.now())
    messages.success(request, f"{question_set.title} is retired. What was assigned before stays.")
    return redirect("assignments:sets")


@require_POST
@setters_only
def restore(request: HttpRequest, pk: int) -> HttpResponse:
    question_set = _managed(request, pk)
    services.restore_set(question_set=question_set)
    messages.success(request, f"{question_set.title} is back.")
    return redirect("assignments:set_detail", pk)


def _detail(
    request: HttpRequest, question_set: QuestionSet, *, order: OrderForm | None = None, status: int = 200
) -> HttpResponse:
    entries = list(question_set.entries.select_related("question__current").prefetch_related("question__tags"))
    order = order or OrderForm(entries=entries)
    versions = [entry.question.current for entry in entries if entry.question.current is not None]
    shown = _thumbs([entry.question for entry in entries])
    rows = [
        {
            "entry": entry,
            "stem": _stem(shown, entry.question),
            "place": order[f"position-{entry.pk}"],
            "why_not": services.why_not_ready(entry.question),
        }
        for entry in entries
    ]
    asked_in = Q(question_set=question_set) | Q(second_set=question_set)
    assignments = Assignment.objects.visible_to(person(request)).filter(asked_in).for_list()
    context = {
        "set": question_set,
        "rows": rows,
        "outlook": outlook_of(versions, median_seconds(versions)),
        "unready": [row for row in rows if row["why_not"]],
        "assignments": assignments,
        "may_change": person(request).role in SETTERS,
    }
    return render(request, "assignments/set_detail.html", context, status=status)


def _bank_to_pick_from(request: HttpRequest) -> dict[str, Any]:
    bank = Question.objects.visible_to(person(request))
    filters = replace(read_filters(request.GET), states=(State.READY,))
    matching = filters.apply(bank).for_list().in_order(filters.order)
    page = Paginator(matching, A_PAGE).get_page(request.GET.get("page"))
    shown = _thumbs(list(page))
    tags = Tag.objects.filter(school=person(request).school_id)
    return {
        "filters": filters,
        "is_narrowed": bool(filters.text or filters.tags or filters.folds or filters.levels),
        "facets": count_facets(bank, filters, tags),
        "page": page,
        "rows": [{"question": question, "stem": _stem(shown, question)} for question in page],
    }


def _thumbs(questions: list[Question]) -> dict[int, Pictures]:
    return pictures_for([question.current for question in questions if question.current], [Picture.Kind.THUMB])


def _stem(shown: dict[int, Pictures], question: Question) -> tuple[Picture, ...]:
    return shown[question.current_id].thumbs if question.current_id else ()


def _managed(request: HttpRequest, pk: int) -> QuestionSet:
    return get_object_or_404(QuestionSet.objects.managed_by(person(request)), pk=pk)


def _status(form: forms.Form) -> int:
    return 400 if form.is_bound and form.errors else 200
