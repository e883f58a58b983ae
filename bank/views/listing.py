"""The bank: every question of the school, searched and filtered. All of it lives in the address."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from accounts.access import SignedInRequest, adults_only
from bank.display import pictures_for
from bank.drawing import Kind
from bank.filters import count_facets, read_filters
from bank.models import Question, SavedSearch, Tag
from bank.queries import uses_of
from bank.services.searches import tidy_query

A_PAGE = 24
ORDERS = [
    ("newest", "Newest first"),
    ("oldest", "Oldest first"),
    ("easiest", "Easiest first"),
    ("hardest", "Hardest first"),
]


@require_safe
@adults_only
def bank_list(request: SignedInRequest) -> HttpResponse:
    """Show a page of the questions that match the address's filters; for htmx only the part that changes."""
    questions = Question.objects.visible_to(request.user)
    filters = read_filters(request.GET, request.user)
    matching = filters.apply(questions)
    page = Paginator(matching.for_list().in_order(filters.order), A_PAGE).get_page(request.GET.get("page"))
    tags = Tag.objects.filter(school=request.user.school_id)
    context = {
        "filters": filters,
        "facets": count_facets(questions, filters, tags, request.user),
        "page": page,
        "rows": _rows(list(page)),
        "total": questions.count(),
        "orders": ORDERS,
        "query": tidy_query(request.GET.urlencode()),
        "searches": SavedSearch.objects.visible_to(request.user),
        "may_set": not request.user.is_administrator,
    }
    return render(request, "bank/list.html", context)


def _rows(questions: list[Question]) -> list[dict]:
    """Return what a row of the list shows of each question."""
    shown = pictures_for([question.current for question in questions if question.current], [Kind.THUMB])
    uses = uses_of(questions)
    return [
        {"question": question, "stem": shown[question.current_id].thumbs, "uses": uses[question.pk]}
        for question in questions
        if question.current_id is not None
    ]
