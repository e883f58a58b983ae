"""What is kept about people, for adults and in a nine-year-old's words. Open to everyone."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render


def privacy(request: HttpRequest) -> HttpResponse:
    return render(request, "accounts/privacy.html")


def privacy_pupils(request: HttpRequest) -> HttpResponse:
    return render(request, "accounts/privacy_pupils.html")
