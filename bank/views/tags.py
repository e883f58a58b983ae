"""The school's tags: how many questions carry each; rename, merge and delete, looked at before it happens."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from accounts.access import SignedInRequest, adults_only
from bank.errors import TagError
from bank.models import Question, Tag
from bank.queries import tags_with_counts
from bank.services import tag_names


@require_safe
@adults_only
def tags(request: SignedInRequest) -> HttpResponse:
    return _page(request)


@require_POST
@adults_only
def change(request: SignedInRequest) -> HttpResponse:
    """Show what would change; sent again with ``do``, it happens."""
    ids = [int(pk) for pk in request.POST.getlist("tag") if pk.isascii() and pk.isdigit() and len(pk) < 18]
    deletes = request.POST.get("deed") == "delete"
    name = "" if deletes else request.POST.get("name", "")
    school = request.user.school
    try:
        plan = tag_names.plan(school=school, ids=ids, name=name)
        if not plan.name and not deletes:
            raise TagError("Type the new name.")
        if request.POST.get("do") == "yes":
            tag_names.carry_out(school=school, ids=ids, name=name, by=request.user, at=timezone.now())
            messages.success(request, _done(plan))
            return redirect("bank:tags")
    except TagError as error:
        return _page(request, says=str(error), ticked=ids, typed=name)
    if plan.changes_nothing:
        messages.success(request, f"“{plan.name}” is its name already.")
        return redirect("bank:tags")
    return render(request, "bank/tags_change.html", {"plan": plan, "deletes": deletes})


def _page(
    request: SignedInRequest, *, says: str = "", ticked: list[int] | None = None, typed: str = ""
) -> HttpResponse:
    counts = tags_with_counts(Question.objects.visible_to(request.user))
    found = Tag.objects.filter(school=request.user.school_id)
    context = {
        "rows": [(tag, counts.get(tag.pk, 0)) for tag in found],
        "says": says,
        "ticked": ticked or [],
        "typed": typed,
    }
    return render(request, "bank/tags.html", context, status=400 if says else 200)


def _done(plan: tag_names.Plan) -> str:
    old = ", ".join(f"“{tag.name}”" for tag, _ in plan.tags)
    if not plan.name:
        return f"{old} {'is' if len(plan.tags) == 1 else 'are'} deleted."
    return f"{old} {'is' if len(plan.tags) == 1 else 'are'} “{plan.name}” now, on {plan.together} questions."
