"""``python -m geometry draw`` and ``export``: what is written, what is said, and the exit status."""

from __future__ import annotations

import io
import json
import subprocess
from contextlib import redirect_stderr, redirect_stdout
from unittest import mock

import pytest
from lxml import etree
from PIL import Image

from geometry.__main__ import main
from geometry.fold_format import read_fold
from geometry.spec import read_spec
from tests.geometry.gallery import GALLERY
from tests.geometry.svg_reading import SVG

LINE = json.dumps(GALLERY["three"]).encode()
BAD = b'{"version":1,"sheet":{"kind":"square"},"folds":[{"bring":[0,0],"to":[0,0]}]}'


def geometry(*args: str, given: bytes = LINE) -> subprocess.CompletedProcess[bytes]:
    """Run the command in this process, which is quicker; ``test_command_unfold.py`` runs it in one of its own."""
    out, err = (io.TextIOWrapper(io.BytesIO(), write_through=True) for _ in range(2))
    with redirect_stdout(out), redirect_stderr(err), mock.patch("sys.stdin", io.TextIOWrapper(io.BytesIO(given))):
        try:
            code = main([*args])
        except SystemExit as end:
            code = int(end.code or 0)
    return subprocess.CompletedProcess(args, code, out.buffer.getvalue(), err.buffer.getvalue())


def test_a_stem_is_one_svg_of_its_pictures_side_by_side():
    done = geometry("draw")
    root = etree.fromstring(done.stdout)
    assert (done.returncode, done.stderr) == (0, b"")
    assert [inner[0].text for inner in root.findall(f"{SVG}svg")] == [
        "Fold 1",
        "Fold 2",
        "Fold 3",
        "Folded and punched",
    ]


def test_a_key_as_png_is_an_image_of_its_size():
    done = geometry("draw", "--what", "key", "--format", "png", "--scale", "2")
    with Image.open(io.BytesIO(done.stdout)) as image:
        assert (image.format, image.size) == ("PNG", (480, 480))
        assert set(image.info) <= {"transparency"}  # no text chunks, nothing told beside the picture


def test_steps_in_print_are_black_and_white():
    done = geometry("draw", "--what", "steps", "--theme", "print", "--size", "small")
    assert done.returncode == 0
    assert b"#F3C48C" not in done.stdout
    assert done.stdout.count(b"<title>Opening") == 3


def titles(svg: bytes) -> list[str]:
    return [inner[0].text for inner in etree.fromstring(svg).findall(f"{SVG}svg")]


def test_options_of_a_plain_spec_are_those_that_the_seed_makes():
    written = geometry("options", "--seed", "7").stdout
    by_line = geometry("draw", "--what", "option", given=written)
    by_seed = geometry("draw", "--what", "option", "--seed", "7")
    assert (by_line.returncode, by_seed.returncode) == (0, 0)
    assert titles(by_line.stdout) == [f"Option {letter}" for letter in "ABCDE"]
    assert by_line.stdout == by_seed.stdout


def test_options_that_cannot_be_read_are_refused():
    line = json.dumps({"spec": GALLERY["three"], "options": [{"label": "A", "holes": [{"outline": "round"}]}]})
    done = geometry("draw", "--what", "option", given=line.encode())
    assert done.returncode == 1
    assert done.stderr == b"line 1: The line's options cannot be read.\n"


def test_a_contact_sheet_numbers_its_rows_and_leaves_out_what_cannot_be_folded():
    given = b"\n".join([LINE, BAD, json.dumps(GALLERY["half"]).encode()])
    done = geometry("draw", "--sheet", "--size", "thumb", given=given)
    root = etree.fromstring(done.stdout)
    assert done.returncode == 1
    assert done.stderr == b"line 2: Fold 1 brings a point to where it already is.\n"
    assert [text.text for text in root.findall(f"{SVG}text")] == ["1", "2"]
    assert len(root.findall(f"{SVG}svg")) == (4 + 1) + (2 + 1)


@pytest.mark.parametrize("given", [b"", b"\n\n"])
def test_nothing_given_is_said(given):
    done = geometry("draw", given=given)
    assert (done.returncode, done.stdout) == (1, b"")
    assert done.stderr == b"There is no spec on standard input.\n"


@pytest.mark.parametrize("args", [("--what", "cube"), ("--scale", "0"), ("--scale", "1000"), ("--theme", "sepia")])
def test_wrong_usage_exits_with_2_and_says_what_there_is(args):
    done = geometry("draw", *args)
    assert done.returncode == 2
    assert b"usage: python -m geometry draw" in done.stderr


def test_help_teaches_by_example():
    for command in ("draw", "export"):
        done = geometry(command, "--help")
        assert done.returncode == 0
        assert b"example" in done.stdout


def test_export_writes_a_fold_file_for_each_line_and_a_bad_line_does_not_stop_it():
    done = geometry("export", given=b"\n".join([LINE, BAD, b"{", LINE]))
    first, bad, unreadable, last = [json.loads(line) for line in done.stdout.splitlines()]
    assert done.returncode == 0
    assert read_fold(first) == read_fold(last) == read_spec(LINE)
    assert (bad["ok"], bad["fold"]) == (False, 1)
    assert unreadable["error"] == "The spec is not valid JSON."
