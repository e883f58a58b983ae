"""Questions chosen in the list, and what can be done to all of them: tags, states, pictures to take away."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.contrib import messages
from django.http import HttpResponse, QueryDict, StreamingHttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from accounts.access import SignedInRequest, adults_only
from accounts.trail import Deed, record
from bank import slides
from bank.display import pictures_for
from bank.drawing import Kind
from bank.errors import SelectionError, TagError
from bank.exchange import MOST as MOST_IN_FILE
from bank.forms.chosen import PicturesForm, TagsForm
from bank.models import State, Tag
from bank.queries import tags_with_counts
from bank.selection import Selection, read_selection
from bank.services import many

SHOWN = 12
DEEDS = {"ready": "made ready", "retire": "retired", "restore": "brought back"}
View = Callable[[SignedInRequest, Selection], HttpResponseBase]


def of_chosen(view: View) -> Callable[..., HttpResponseBase]:
    """Hand the questions chosen to the view; if there is none, or too many, say so in the list."""

    @require_POST
    @adults_only
    @wraps(view)
    def chosen_first(request: SignedInRequest) -> HttpResponseBase:
        try:
            selection = read_selection(request.POST, request.user)
        except SelectionError as error:
            messages.error(request, str(error))
            return _to_list(request)
        return view(request, selection)

    return chosen_first


@of_chosen
def chosen(request: SignedInRequest, selection: Selection) -> HttpResponse:
    return _page(request, selection)


@of_chosen
def tag(request: SignedInRequest, selection: Selection) -> HttpResponse:
    form = TagsForm(request.POST, carried=_carried(selection))
    if form.is_valid():
        school, at, wanted = request.user.school, timezone.now(), form.cleaned_data
        try:
            count = many.change_tags(
                school=school, ids=selection.ids, add=wanted["add"], remove=wanted["remove"], at=at
            )
        except TagError as error:
            form.add_error("add", str(error))
        else:
            messages.success(request, f"The tags of {_so_many(count)} are changed.")
            return _to_list(request)
    return _page(request, selection, tags=form, status=400)


@of_chosen
def state(request: SignedInRequest, selection: Selection) -> HttpResponse:
    deed = request.POST.get("do", "")
    if deed not in DEEDS:
        return _page(request, selection, status=400)
    moved = many.set_states(school=request.user.school, ids=selection.ids, deed=deed, at=timezone.now())
    messages.success(request, f"{_so_many(moved.count)} {DEEDS[deed]}.")
    if moved.stuck:
        numbers = ", ".join(map(str, moved.stuck[:12]))
        messages.warning(request, f"Still drafts, since a check fails: {numbers}{' …' if moved.stuck[12:] else ''}.")
    return _to_list(request)


@of_chosen
def pictures(request: SignedInRequest, selection: Selection) -> HttpResponseBase:
    """Answer with a zip that is made while it is sent."""
    form = PicturesForm(request.POST)
    if len(selection) > slides.MOST:
        form.add_error(None, f"Pictures of {slides.MOST} questions at most go in one file. Choose fewer.")
    if not form.is_valid():
        return _page(request, selection, pictures=form, status=400)
    questions = list(selection.questions.select_related("current").order_by("number"))
    body = slides.zip_of(questions, form.cleaned_data["parts"], form.cleaned_data["forms_"])
    record(Deed.QUESTIONS_EXPORTED, by=request.user, about={"questions": len(questions)})
    response = StreamingHttpResponse(body, content_type="application/zip")
    response["Content-Disposition"] = f'attachment; filename="pictures-{timezone.localdate():%Y-%m-%d}.zip"'
    return response


def _page(
    request: SignedInRequest,
    selection: Selection,
    *,
    tags: TagsForm | None = None,
    pictures: PicturesForm | None = None,
    status: int = 200,
) -> HttpResponse:
    first = list(selection.questions.select_related("current").order_by("number")[:SHOWN])
    thumbs = pictures_for([question.current for question in first if question.current], [Kind.THUMB])
    states = selection.questions.counted_by("state")
    context: dict[str, Any] = {
        "selection": selection,
        "rows": [(question, thumbs[question.current_id].thumbs) for question in first if question.current_id],
        "more": len(selection) - len(first),
        "states": [(value, label, states.get(value, 0)) for value, label in State.choices],
        "tags": tags or TagsForm(carried=_carried(selection)),
        "pictures": pictures or PicturesForm(),
        "known_tags": Tag.objects.filter(school=request.user.school_id),
        "most_in_file": MOST_IN_FILE,
        "most_in_zip": slides.MOST,
    }
    return render(request, "bank/chosen.html", context, status=status)


def _carried(selection: Selection) -> list[tuple[Tag, int]]:
    counts = tags_with_counts(selection.questions)
    return [(tag, counts[tag.pk]) for tag in Tag.objects.filter(pk__in=counts)]


def _to_list(request: SignedInRequest) -> HttpResponse:
    """Go back to the list as it was searched."""
    query = QueryDict(request.POST.get("query", "")[:2000]).urlencode()
    return redirect(reverse("bank:list") + (f"?{query}" if query else ""))


def _so_many(count: int) -> str:
    return f"{count:,} question{'' if count == 1 else 's'}"
