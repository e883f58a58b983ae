"""Stored pictures: SVG rows, bitmaps that a reader of another make can open and that show the true holes."""

from __future__ import annotations

import io
import struct

import pytest
import shapely
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from PIL import Image

from accounts.models import School
from bank.models import Picture, Version
from bank.services.pictures import bitmap_path, render_pictures
from bank.tasks import render_pictures as render_task
from bank.tasks import sweep_pictures
from geometry.option_sets import OptionSet
from tests.bank.factories import DIAGONAL, make_question

pytestmark = pytest.mark.each_database

HOLE = (0x1F, 0x3B, 0x34)  # the colour of holes in pictures for the screen


@pytest.fixture
def version(school: School) -> Version:
    return make_question(school, spec=DIAGONAL).current


def read_png(picture: Picture, density: int) -> bytes:
    with default_storage.open(bitmap_path(picture, density)) as file:
        return file.read()


def test_every_picture_is_kept_once(version: Version) -> None:
    render_pictures(version=version)
    kept = sorted(version.pictures.values_list("kind", "place"))
    frames = [(kind, place) for kind in ("stem", "step", "thumb") for place in range(4)]
    assert kept == sorted(frames + [("option", place) for place in range(5)])


def test_bitmaps_are_400_and_800_wide(version: Version) -> None:
    assert render_pictures(version=version) == 2 * (4 + 4 + 5)
    for picture in version.pictures.exclude(kind="thumb"):
        for density, width in ((1, 400), (2, 800)):
            image = Image.open(io.BytesIO(read_png(picture, density)))
            image.load()
            assert (image.format, image.width) == ("PNG", width)
            assert abs(image.height - width) <= 0.3 * width


def test_bitmaps_show_the_holes_of_their_option(version: Version) -> None:
    """The share of hole-coloured pixels is the holes' share of the picture's frame: 8/7 of the sheet on each side."""
    render_pictures(version=version)
    for option in OptionSet.from_json(version.options).options:
        picture = version.pictures.get(kind="option", place="ABCDE".index(option.label))
        image = Image.open(io.BytesIO(read_png(picture, 2))).convert("RGBA")
        near = sum(
            count
            for count, (r, g, b, a) in image.getcolors(2**20)
            if a > 128 and max(abs(r - HOLE[0]), abs(g - HOLE[1]), abs(b - HOLE[2])) < 8
        )
        area = sum(shapely.area(hole) for hole in option.holes)
        assert near / (800 * 800) == pytest.approx(area * (7 / 8) ** 2, rel=0.06)


def test_bitmaps_hold_no_words(version: Version) -> None:
    """Only what paints: no tEXt, iTXt, zTXt or tIME (PNG specification, chunk layout)."""
    render_pictures(version=version)
    png = read_png(version.pictures.filter(kind="option").first(), 1)
    names, at = set(), 8
    while at < len(png):
        length, name = struct.unpack(">I4s", png[at : at + 8])
        names.add(name)
        at += 12 + length
    assert names <= {b"IHDR", b"PLTE", b"tRNS", b"IDAT", b"IEND"}


def test_options_differ_in_their_outlines_alone(version: Version) -> None:
    render_pictures(version=version)
    options = version.pictures.filter(kind="option")
    assert {picture.title for picture in options} == {"Option"}
    for letter in "ABCDE":
        assert not any(f"Option {letter}" in picture.svg for picture in options)


def test_repeating_changes_nothing(version: Version) -> None:
    render_pictures(version=version)
    before = {p.name: (p.pk, read_png(p, 1)) for p in version.pictures.exclude(kind="thumb")}
    assert render_task(version.pk) == 0
    assert {p.name: (p.pk, read_png(p, 1)) for p in version.pictures.exclude(kind="thumb")} == before


def test_what_a_killed_worker_left_out_is_made_good(version: Version) -> None:
    render_pictures(version=version)
    lost = version.pictures.get(kind="stem", place=2)
    default_storage.delete(bitmap_path(lost, 2))
    Picture.objects.filter(pk=lost.pk).update(has_png=False)
    version.pictures.get(kind="step", place=0).delete()
    assert list(Version.objects.lacking_pictures()) == [version]
    assert sweep_pictures() == 1
    assert read_png(version.pictures.get(kind="step", place=0), 2)
    assert read_png(lost, 2)
    assert sweep_pictures() == 0


def test_a_bitmap_another_process_kept_meanwhile_stands(version: Version, monkeypatch) -> None:
    render_pictures(version=version)
    picture = version.pictures.get(kind="stem", place=0)
    path = bitmap_path(picture, 1)
    default_storage.delete(path)
    default_storage.save(path, ContentFile(b"theirs"))
    Picture.objects.filter(pk=picture.pk).update(has_png=False)
    looks = iter([False])  # not there yet at the first look; there when it is written
    there = default_storage.exists
    monkeypatch.setattr(default_storage._wrapped, "exists", lambda name: next(looks, None) is None and there(name))
    render_pictures(version=version)
    monkeypatch.undo()
    folder = default_storage.listdir(path.rsplit("/", 1)[0])[1]
    assert read_png(picture, 1) == b"theirs"
    assert sorted(name for name in folder if name.startswith(picture.name)) == [
        f"{picture.name}@1x.png",
        f"{picture.name}@2x.png",
    ]


def test_a_version_that_is_gone_is_no_error(db: None) -> None:
    assert render_task(12345) == 0


def test_saving_draws_once_the_save_is_kept(school: School, django_capture_on_commit_callbacks) -> None:
    with django_capture_on_commit_callbacks(execute=True):
        question = make_question(school)
    assert question.current.pictures.filter(has_png=True).count() == 3 + 3 + 5


def test_a_queue_that_is_away_does_not_undo_a_save(
    school: School, django_capture_on_commit_callbacks, monkeypatch
) -> None:
    def away(*args, **kwargs):
        raise ConnectionError("no queue")

    monkeypatch.setattr("bank.services.questions.render_pictures.apply_async", away)
    with django_capture_on_commit_callbacks() as callbacks:
        question = make_question(school)
    assert len(callbacks) == 1
    assert list(Version.objects.lacking_pictures()) == [question.current]
