"""Saved searches: keep the one that is shown, rename and delete."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from accounts.access import SignedInRequest, adults_only
from bank.errors import SearchError
from bank.models import SavedSearch
from bank.services import searches as services


@require_http_methods(["GET", "HEAD", "POST"])
@adults_only
def searches(request: SignedInRequest) -> HttpResponse:
    """Show one's searches; sent a name and a query, keep that search and go back to it."""
    if request.method != "POST":
        return _page(request)
    query = services.tidy_query(request.POST.get("query", ""))
    try:
        saved = services.save_search(name=request.POST.get("name", ""), query=query, by=request.user)
    except SearchError as error:
        messages.error(request, str(error))
        return redirect(reverse("bank:list") + (f"?{query}" if query else ""))
    messages.success(request, f"The search is kept as “{saved.name}”.")
    return redirect(f"{reverse('bank:list')}?{saved.query}")


@require_POST
@adults_only
def search(request: SignedInRequest, pk: int) -> HttpResponse:
    """Rename a search, or delete it."""
    found = get_object_or_404(SavedSearch.objects.visible_to(request.user), pk=pk)
    if request.POST.get("do") == "delete":
        services.delete_search(search=found)
        messages.success(request, f"“{found.name}” is deleted.")
        return redirect("bank:searches")
    typed = request.POST.get("name", "")
    try:
        services.rename_search(search=found, name=typed)
    except SearchError as error:
        return _page(request, refused=found.pk, says=str(error), typed=typed)
    messages.success(request, f"The search is called “{found.name}” now.")
    return redirect("bank:searches")


def _page(request: SignedInRequest, *, refused: int = 0, says: str = "", typed: str = "") -> HttpResponse:
    context = {
        "searches": SavedSearch.objects.visible_to(request.user),
        "refused": refused,
        "says": says,
        "typed": typed,
    }
    return render(request, "bank/searches.html", context, status=400 if refused else 200)
