"""Set a template with values: PDF/UA-1 (ISO 14289-1) out, with every font in the file and every drawing in vectors.

A template is one of the ``*.typ`` files beside this module; it finds its values in ``sys.inputs.data``, as JSON.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from threading import local
from typing import Any, Literal, TypeVar

import orjson

# The typesetter's threads cost more than they save on a job of this size; it reads this when it is first imported.
os.environ.setdefault("RAYON_NUM_THREADS", "1")

import typst

from assignments.paper.packing import pack

HERE = Path(__file__).resolve().parent
STANDARD: Literal["ua-1"] = "ua-1"
_COUNT = re.compile(rb"/Type/Pages/Count (\d+)")
LATIN_ENDS = 0x250  # our fonts hold what names in the Latin alphabet need
Source = TypeVar("Source", Path, bytes)  # a file, or its text
_kept = local()


class TypesettingError(Exception):
    """The template does not fit its values: a fault of ours, not of whoever prints."""


def typeset(template: str, data: dict[str, Any]) -> bytes:
    """Return the PDF of ``template`` (a name without its ending) with ``data`` in it. Raises ``TypesettingError``."""
    values = {"data": orjson.dumps(data, option=orjson.OPT_SERIALIZE_NUMPY).decode()}
    return pack(_compile(HERE / f"{template}.typ", values))


def unprintable(texts: Iterable[str]) -> set[str]:
    """Return those of ``texts`` that have a letter no font of ours or of this machine can show."""
    return {text for text in texts if any(ord(letter) >= LATIN_ENDS for letter in text) and not _is_printable(text)}


def _is_printable(text: str) -> bool:
    source = (
        b'#import "page.typ": page-rules\n#set document(title: "Name")\n#show: page-rules.with((:))\n#sys.inputs.text'
    )
    try:
        _compile(source, {"text": text})
    except TypesettingError:
        return False
    return True


def _compile(source: Source, values: dict[str, str]) -> bytes:
    try:
        made = _typesetter().compile(source, format="pdf", pdf_standards=STANDARD, sys_inputs=values)
    except typst.TypstError as error:
        raise TypesettingError(error.diagnostic or str(error)) from error
    assert isinstance(made, bytes), "a PDF is one file"
    return made


def _typesetter() -> typst.Compiler:
    """The typesetter, kept with the templates it has read; each thread's own, for it does one job at a time."""
    if not hasattr(_kept, "typesetter"):
        _kept.typesetter = typst.Compiler(root=HERE, font_paths=_fonts())
    return _kept.typesetter


@cache
def _fonts() -> typst.Fonts:
    """Ours first; those of the machine stand in for letters of other scripts in people's names."""
    return typst.Fonts(include_system_fonts=True, include_embedded_fonts=True, font_paths=[str(HERE / "fonts")])


def count_pages(pdf: bytes) -> int:
    """Return how many pages a file of ours has: its page tree's root says so, and is not packed."""
    return max((int(count) for count in _COUNT.findall(pdf)), default=0)
