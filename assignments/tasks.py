"""Work done behind the page: files to print, figures to search by. Every task may die and be repeated."""

from __future__ import annotations

from celery import shared_task
from django.utils import timezone

from accounts.models import School
from assignments.models import PrintOrder
from assignments.services import facilities, printing


@shared_task
def print_order(order_id: int) -> int:
    """Make the files of an order; return how many were made."""
    order = PrintOrder.objects.filter(pk=order_id).first()
    return printing.make_files(order=order) if order else 0


@shared_task
def forget_prints() -> int:
    """Delete what was printed more than a day ago."""
    return printing.forget_prints(at=timezone.now())


@shared_task
def count_facilities() -> int:
    """Count how each school's questions were answered; return how many were."""
    return sum(facilities.count_facilities(school=school) for school in School.objects.all())
