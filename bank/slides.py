"""Pictures of many questions as one zip, made while it is sent: for slides, named by question and letter.

question-012/stem-1.svg          the first fold; the last of the stem is folded and punched
question-012/option-A.png        400 pixels wide
question-012/key-C@2x.png        the right option once more, 800 pixels wide
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from io import RawIOBase
from typing import Any
from zipfile import ZIP_DEFLATED, ZIP_STORED, ZipFile, ZipInfo

from bank.display import LETTERS, Pictures, pictures_for
from bank.drawing import Kind
from bank.models import Picture, Question
from bank.services.pictures import bitmap_of

MOST = 100  # questions: some thousand files
PARTS = {"stem": "The stem, fold by fold", "options": "The five options", "key": "The key, by itself"}
FORMS = {"svg": "SVG, sharp at any size", "png": "PNG, 400 pixels wide", "2x": "PNG, 800 pixels wide"}
ENDINGS = {"svg": ".svg", "png": ".png", "2x": "@2x.png"}
AT_A_TIME = 10  # questions whose pictures are in memory


class _Outbox(RawIOBase):
    """Where the zip is written: what came since last time can be taken away."""

    def __init__(self) -> None:
        self._kept = bytearray()

    def writable(self) -> bool:
        return True

    def write(self, data: Any) -> int:
        self._kept += data
        return len(data)

    def take(self) -> bytes:
        taken = bytes(self._kept)
        self._kept.clear()
        return taken


def zip_of(questions: Sequence[Question], parts: Collection[str], forms: Collection[str]) -> Iterator[bytes]:
    """Yield the zip piece by piece. The questions have their current versions loaded."""
    outbox = _Outbox()
    with ZipFile(outbox, "w") as file:
        for name, picture in _named(questions, parts):
            for form in forms:
                file.writestr(_entry(name + ENDINGS[form]), _body(picture, form), _packing(form))
            yield outbox.take()
    yield outbox.take()


def _named(questions: Sequence[Question], parts: Collection[str]) -> Iterator[tuple[str, Picture]]:
    for start in range(0, len(questions), AT_A_TIME):
        some = questions[start : start + AT_A_TIME]
        shown = pictures_for([q.current for q in some if q.current], [Kind.STEM, Kind.OPTION])
        for question in some:
            assert question.current is not None, "every saved question has a version"
            pictures, key = shown[question.current.pk], question.current.key
            for name, picture in _pictures_of(pictures, key, parts):
                yield f"question-{question.number:03}/{name}", picture


def _pictures_of(pictures: Pictures, key: str, parts: Collection[str]) -> Iterator[tuple[str, Picture]]:
    if "stem" in parts:
        yield from ((f"stem-{place}", picture) for place, picture in enumerate(pictures.stem, 1))
    if "options" in parts:
        yield from ((f"option-{letter}", p) for letter, p in zip(LETTERS, pictures.options, strict=False))
    if "key" in parts:
        yield f"key-{key}", pictures.options[LETTERS.index(key)]


def _entry(name: str) -> ZipInfo:
    entry = ZipInfo(name)  # of 1980-01-01: the same pictures make the same bytes
    entry.external_attr = 0o644 << 16
    return entry


def _body(picture: Picture, form: str) -> bytes:
    return picture.svg.encode() if form == "svg" else bitmap_of(picture, 2 if form == "2x" else 1)


def _packing(form: str) -> int:
    return ZIP_DEFLATED if form == "svg" else ZIP_STORED  # a PNG is packed already
