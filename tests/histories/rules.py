"""What must hold at every moment of a school's life."""

from __future__ import annotations

import csv
import io
from datetime import timedelta
from io import StringIO
from random import Random

from django.apps import apps
from django.core.management import call_command
from django.core.management.base import CommandError
from django.db.models import CharField, JSONField, Q, TextField
from django.urls import reverse
from lxml import html

from accounts.models import Role, User
from assignments.models import Assignment, Event, Feedback, Sitting
from assignments.services.clock import database_now
from tests.histories.crawl import Fault, Page, walk
from tests.histories.life import Life


def look_over(life: Life, lot: Random, *, of_a_kind: int, walkers: int) -> None:
    """Walk as some of the adults and as a pupil, and hold what is seen against the rules."""
    seen: dict[str, Page] = {}
    adults, pupils = life.adults(), list(life.pupils().order_by("pk"))
    for person in [*lot.sample(adults, min(walkers, len(adults))), *lot.sample(pupils, min(1, len(pupils)))]:
        found = walk(life.walker(person), lot, of_a_kind=of_a_kind)
        life.pages += len(found)
        for page in found.values():
            told_of_the_erased(life, page, person)
        if person.is_pupil:
            keys_are_kept(person, found)
        seen |= found
    strangers(life, seen, lot)
    sent = list(life.assignments().select_related("school_class").order_by("pk"))
    for assignment in lot.sample(sent, min(2, len(sent))):
        marks_stay(assignment)
        files_tell_what_pages_tell(life, assignment)
        told_in_time(life, assignment)
    erased_everywhere(life)


def erased_everywhere(life: Life) -> None:
    """No column of any table holds the name of an erased pupil."""
    for model in apps.get_models():
        for column in model._meta.fields:
            if isinstance(column, CharField | TextField | JSONField) and life.gone:
                told = Q()
                for name in life.gone:
                    told |= Q(**{f"{column.name}__icontains": name})
                if model.objects.filter(told).exists():
                    raise Fault(f"{model._meta.label}.{column.name} holds the name of an erased pupil")


def told_of_the_erased(life: Life, page: Page, person: User) -> None:
    for name in life.gone:
        if name.encode() in page.body:
            raise Fault(f"{person.role} reads the name of an erased pupil at {page.address}")


def keys_are_kept(pupil: User, found: dict[str, Page]) -> None:
    """No page of a pupil says where an option errs that may not be told yet, in any set that the pupil has."""
    now = database_now()
    secret: set[str] = set()
    open_ones: set[str] = set()
    for sitting in Sitting.objects.filter(pupil=pupil).select_related("assignment"):
        keeps = sitting.assignment.feedback != Feedback.NOW and is_due(sitting, False, now) is False
        asked = sitting.assignment.questions.filter(pk__in=[place["question"] for place in sitting.paper])
        for question in asked.select_related("version"):
            says = {one["says"] for option in question.version.options["options"] for one in option["mistakes"]}
            (secret if keeps else open_ones).update(says)
    for page in found.values():
        if page.tree is not None and not page.address.startswith("/my/try"):
            words = " ".join(page.tree.text_content().split())
            for says in secret - open_ones:
                if says in words:
                    raise Fault(f"pupil {pupil.pk} reads at {page.address}: {says}")


def strangers(life: Life, seen: dict[str, Page], lot: Random) -> None:
    """Whoever belongs to the other school gets nothing at any address that people of this one were offered."""
    names = [one.name.encode() for one in User.objects.filter(school=life.school)]
    names += [one.title.encode() for one in life.sets()]
    numbered = sorted(address for address in seen if any(sign.isdigit() for sign in address.split("?")[0]))
    person = lot.choice(life.strangers)
    walker = life.walker(person)
    for address in lot.sample(numbered, min(10, len(numbered))):
        page = walker.get(address)
        if page.status == 200 and not address.endswith("schema.json"):
            raise Fault(f"the other school's {person.role} is shown {address}")
    pages = walk(walker, lot, of_a_kind=1) if lot.random() < 0.1 else {"/": walker.get(reverse("assignments:results"))}
    for page in pages.values():
        if any(name in page.body for name in names):
            raise Fault(f"the other school's {person.role} reads of this one at {page.address}")


def marks_stay(assignment: Assignment) -> None:
    try:
        call_command("recompute", assignment.pk, check=True, stdout=StringIO(), stderr=StringIO())
    except CommandError as differs:
        raise Fault(f"assignment {assignment.pk}: {differs}") from differs
    call_command("history", assignment.pk, stdout=StringIO())


def rows(page: Page) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(page.body.decode("utf-8-sig"), newline="")))


def files_tell_what_pages_tell(life: Life, assignment: Assignment) -> None:
    walker = life.walker(next(one for one in life.adults() if one.role in (Role.HEAD, Role.ADMINISTRATOR)))
    page = walker.get(reverse("assignments:result", args=[assignment.pk]))
    shown = dict(told_by(page))
    query = f"?assignment={assignment.pk}"
    sat = rows(walker.get(reverse("assignments:export_sittings") + query))
    answers = rows(walker.get(reverse("assignments:export_answers") + query))
    assignment.refresh_from_db()
    kept = {
        int(one["pupil_id"]): float(one["corrected"] if assignment.corrects_guessing else one["right"]) for one in sat
    }
    if kept != {pk: mark for pk, (mark, _) in shown.items()}:
        raise Fault(f"assignment {assignment.pk}: the page shows {shown}, the file of sittings {kept}")
    by_pupil: dict[int, list] = {}
    for one in sorted(answers, key=lambda one: int(one["position"])):
        cell = (one["outcome"], one["choice"] if one["outcome"] == "wrong" else "", bool(one["late_choice"]))
        by_pupil.setdefault(int(one["pupil_id"]), []).append(cell)
    if by_pupil != {pk: cells for pk, (_, cells) in shown.items()}:
        raise Fault(f"assignment {assignment.pk}: the page shows {shown}, the file of answers {by_pupil}")
    names = [one.name for one in User.objects.filter(school=life.school, role="pupil")]
    for export in ("export_answers", "export_sittings", "export_mistakes"):
        text = walker.get(reverse(f"assignments:{export}") + query + "&without_names=on").body.decode()
        if any(name in text for name in names):
            raise Fault(f"assignment {assignment.pk}: {export} without names has a name")
    for one in sat:
        walker.follow(reverse("assignments:result_pupil", args=[assignment.pk, one["pupil_id"]]), offered_by="export")


def told_by(page: Page):
    """The mark and the cells of each pupil in the table of a class, by the pupil's number."""
    for row in page.tree.xpath("//table[contains(@class, 'marks')]/tbody/tr"):
        pk = int(row.xpath("./th/a/@href")[0].rstrip("/").split("/")[-1])
        mark = float(row.xpath("./td[last()]/text()")[0].strip().replace("−", "-"))
        yield pk, (mark, [cell_of(cell) for cell in row.xpath("./td/a")])


def cell_of(cell: html.HtmlElement) -> tuple[str, str, bool]:
    late = bool(cell.xpath("./sup"))
    if cell.xpath("./i[@class='disc']"):
        return ("right", "", late)
    if wrong := cell.xpath("./b[@class='wrong']"):
        return ("wrong", wrong[0].text, late)
    return ("dropped" if cell.xpath("./span[@class='dropped']") else "unanswered", "", late)


def told_in_time(life: Life, assignment: Assignment) -> None:
    """A pupil is shown how a question is answered when that is due, and not before. The rule is written out anew."""
    now = database_now()
    for sitting in Sitting.objects.filter(assignment=assignment).select_related("assignment", "pupil"):
        walker = life.walker(sitting.pupil)
        locked = set(sitting.events.filter(kind=Event.Kind.LOCK).values_list("question", flat=True))
        for number, place in enumerate(sitting.paper, 1):
            due = is_due(sitting, place["question"] in locked, now)
            page = walker.get(reverse("assignments:review", args=[sitting.pk, number]))
            if due is not None and (page.status == 200) != due:
                raise Fault(f"sitting {sitting.pk}, place {number}: told is {page.status}, due is {due}")
            again = walker.get(reverse("assignments:again", args=[sitting.pk, number]))
            if again.status == 200 and due is False:
                raise Fault(f"sitting {sitting.pk}, place {number}: may be tried again before it is due")
        walker.follow(reverse("assignments:start", args=[sitting.assignment_id]), offered_by="rules")


def is_due(sitting: Sitting, locked: bool, now) -> bool | None:
    """``None`` within a minute of the moment at which it falls due."""
    assignment = sitting.assignment
    if assignment.feedback == Feedback.NEVER:
        return False

    def ended(one: Sitting) -> bool | None:
        if one.entered_at or (one.finished_at and one.finished_at < one.deadline):
            return True
        return None if abs(now - one.deadline) < timedelta(minutes=1) else now > one.deadline

    if assignment.feedback == Feedback.NOW:
        return True if locked else ended(sitting)
    if abs(now - assignment.closes_at) < timedelta(minutes=1):
        return None
    if now < assignment.closes_at:
        return False
    all_ended = [ended(one) for one in assignment.sittings.all()]
    return False if False in all_ended else None if None in all_ended else True
