"""Compose a question: the workbench for a new one or for the next version, and the preview as one goes."""

from __future__ import annotations

import re
from collections.abc import Mapping

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html
from django.views.decorators.http import require_http_methods, require_POST
from django_htmx.http import HttpResponseClientRedirect

from accounts.access import SignedInRequest, adults_only
from bank.asking import MIXED, SISTER, Ask
from bank.bench import Drawn, draw_findings, draw_paper
from bank.display import pictures_for
from bank.errors import BankError, NotReady, StaleEdit, TooMuchAsked
from bank.forms.arranged import is_about_options
from bank.forms.asking import draw_seed
from bank.forms.mending import follow, mend_for, mended, new_punch, what_changed
from bank.forms.typed import blank_sheet, changed, shown
from bank.forms.workbench import Workbench
from bank.models import Question, State, Tag
from bank.repeats import Asked, Repeats, repeats_of
from bank.services.batches import start_batch
from bank.services.questions import save_question

SAVES = {
    "save-draft": State.DRAFT,
    "save-ready": State.READY,
    "keep-draft": State.DRAFT,  # over a colleague's version that was shown beside one's own
    "keep-ready": State.READY,
}
MENDS = re.compile(r"mend-punch-(\d{1,2})", re.ASCII)


@require_http_methods(["GET", "HEAD", "POST"])
@adults_only
def new(request: SignedInRequest) -> HttpResponse:
    return _at_the_bench(request, None)


@require_http_methods(["GET", "HEAD", "POST"])
@adults_only
def edit(request: SignedInRequest, pk: int) -> HttpResponse:
    return _at_the_bench(request, _find(request, pk))


@require_POST
@adults_only
def preview(request: SignedInRequest) -> HttpResponse:
    """Answer with what changed on the page: paper, options and checks; at a fault (422) the sentence beside it.

    When a fold is in fault the last good pictures stay; when a punch is, the folds are shown without it.
    """
    pk = request.POST.get("question", "")
    question = _find(request, int(pk)) if pk.isascii() and pk.isdigit() and len(pk) < 18 else None
    typed = request.POST.dict()
    bench = follow(typed, question.current if question else None)
    address = reverse("bank:edit", args=[question.pk]) if question else reverse("bank:new")
    paper = bench.paper
    folded = paper.unfolding or (paper.error and paper.error.punch is not None)
    found = draw_findings(bench.options)
    context = {
        "bench": bench,
        "bench_url": address,
        "swap": True,
        "drawn": draw_paper(paper) if folded else Drawn(),
        "found": found,
        "mend": mend_for(bench, found.checks),
        "followed": [form for form in bench.punches if form["at"].value() != typed.get(form.add_prefix("at"))],
        "repeats": _repeats(request, bench, question),
    }
    return render(request, "bank/parts/preview.html", context, status=200 if bench.has_five else 422)


def _at_the_bench(request: SignedInRequest, question: Question | None) -> HttpResponse:
    saved = question.current if question else None
    if request.method != "POST":
        return _page(request, Workbench(shown(question) if question else blank_sheet(), saved), question)
    deed = request.POST.get("do", "show")
    bench = follow(request.POST.dict(), saved)
    if deed == SISTER:
        return _look_for_sister(request, bench, question)
    if deed in SAVES:
        return _save(request, bench, question, deed)
    after = follow(_after(bench, deed), saved)
    return _page(request, after, question, told=what_changed(bench, after) if MENDS.fullmatch(deed) else "")


def _after(bench: Workbench, deed: str) -> Mapping[str, str]:
    """Return the fields after a deed about the options or about a row; unchanged where it does not apply."""
    if is_about_options(deed):
        return bench.options.after(deed) if bench.options else bench.typed
    if match := MENDS.fullmatch(deed):
        return mended(bench, int(match[1]))
    place = new_punch(bench) if deed == "add-punch" else None
    return changed(bench.typed, deed, place=place._asdict() if place else None)


def _save(request: SignedInRequest, bench: Workbench, question: Question | None, deed: str) -> HttpResponse:
    """Save and show the question; or the bench again with what stands in the way: 422, or 409 for a stale edit."""
    if not bench.details.is_valid() or bench.option_set is None or not bench.options_are_readable:
        return _page(
            request, bench, question, refused="This question is not saved yet: mend what is marked.", status=422
        )
    details = bench.details.cleaned_data
    try:
        saved = save_question(
            school=request.user.school,
            author=request.user,
            spec=bench.option_set.spec,
            option_set=bench.option_set,
            tags=details["tags"],
            note=details["note"],
            state=SAVES[deed],
            question=question,
            based_on=details["over"] if deed.startswith("keep-") else details["version"],
        )
    except BankError as error:
        status = 409 if isinstance(error, StaleEdit) else 422
        says = f"{_not_ready(bench, error)} It is not saved yet; it can be saved as a draft."
        return _page(
            request, bench, question, refused=says if isinstance(error, NotReady) else str(error), status=status
        )
    says = f"Question {saved.number} is saved."
    another = format_html('{} <a href="{}">New question</a>', says, reverse("bank:new"))
    messages.success(request, says if question else another)
    return _go(request, reverse("bank:detail", args=[saved.pk]))


def _not_ready(bench: Workbench, error: BankError) -> str:
    """Where options are missing, why they are says more than that they are."""
    return f"{NotReady.STARTS} {bench.options_say}" if bench.options_say and not bench.has_five else str(error)


def _look_for_sister(request: SignedInRequest, bench: Workbench, question: Question | None) -> HttpResponse:
    """Have a question drawn by lot around the one on the bench, and show it; 422 or 429 where that cannot be."""
    if bench.option_set is None:
        return _page(request, bench, question, refused="Mend what is marked, then look for a sister.", status=422)
    ask = Ask(1, draw_seed(), arrangement=MIXED, kind=SISTER, spec=bench.option_set.spec.to_json())
    try:
        batch = start_batch(ask=ask, by=request.user, at=timezone.now(), origin=question)
    except TooMuchAsked as error:
        return _page(request, bench, question, refused=str(error), status=429)
    return _go(request, reverse("bank:batch", args=[batch.pk]))


def _go(request: SignedInRequest, address: str) -> HttpResponse:
    return HttpResponseClientRedirect(address) if "HX-Request" in request.headers else redirect(address)


def _page(
    request: SignedInRequest,
    bench: Workbench,
    question: Question | None,
    *,
    refused: str = "",
    told: str = "",
    status: int = 200,
) -> HttpResponse:
    found = draw_findings(bench.options)
    theirs = question.current if question and status == 409 else None
    context = {
        "bench": bench,
        "bench_url": request.path,
        "drawn": draw_paper(bench.paper),
        "found": found,
        "mend": mend_for(bench, found.checks),
        "repeats": _repeats(request, bench, question),
        "question": question,
        "refused": refused,
        "told": told,
        "theirs": theirs,
        "their_pictures": pictures_for([theirs])[theirs.pk] if theirs else None,
        "tags": Tag.objects.filter(school=request.user.school_id),
    }
    return render(request, "bank/workbench.html", context, status=status)


def _repeats(request: SignedInRequest, bench: Workbench, question: Question | None) -> Repeats | None:
    """Return what the bank has, besides the question itself, of what is asked; None while there is no right answer."""
    if bench.option_set is None or bench.paper.unfolding is None:
        return None
    asked = Asked.at_bench(bench.option_set, bench.paper.unfolding)
    return repeats_of(request.user.school_id, [asked], [question.pk if question else None])[0]


def _find(request: SignedInRequest, pk: int) -> Question:
    questions = Question.objects.visible_to(request.user).select_related("current__author", "school")
    return get_object_or_404(questions.filter(current__isnull=False), pk=pk)
