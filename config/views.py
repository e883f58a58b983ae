"""The front door, and a page a load balancer can ask."""

from django.db import connection
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect


def home(request: HttpRequest) -> HttpResponse:
    """Send each person to the page they came for."""
    if not request.user.is_authenticated:
        return redirect("accounts:pupil_sign_in")
    return redirect("assignments:my_sets" if request.user.is_pupil else "bank:list")


def health(request: HttpRequest) -> JsonResponse:
    """Answer 200 when the database answers."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
    return JsonResponse({"ok": True})
