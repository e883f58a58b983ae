"""``{% measured version as sat %}``: how a version did, for pages of the bank, which knows no sittings."""

from __future__ import annotations

from django.template import Library

from assignments.answer_tables import tables_of
from assignments.models import Assignment
from assignments.version_figures import VersionFigures, figures_by_version
from bank.models import Version

register = Library()


@register.simple_tag
def measured(version: Version) -> VersionFigures | None:
    """Return the figures of all sittings of the version, or ``None`` before anybody sat it (at most 3 queries)."""
    return figures_by_version(tables_of(Assignment.objects.filter(questions__version=version))).get(version.pk)
