"""Moments read by the ten thousand: SQLite keeps them as text in UTC, and Django's own way from there is a long one."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import Func, TextField
from django.db.models.sql.compiler import SQLCompiler


class Moment(Func):
    """A column of moments, for ``values_list``: the same moments, in a tenth of the time on SQLite."""

    template = "%(expressions)s"
    arity = 1
    output_field = TextField()  # which no database of ours converts

    def as_sqlite(self, compiler: SQLCompiler, connection: BaseDatabaseWrapper, **context: Any) -> tuple[str, Any]:
        return self.as_sql(compiler, connection, template="CAST(%(expressions)s AS text)", **context)

    def get_db_converters(self, connection: BaseDatabaseWrapper) -> list[Any]:
        return [_from_text] if connection.vendor == "sqlite" else []


def _from_text(text: str, *_: object) -> datetime:
    return datetime.fromisoformat(text + "+00:00")
