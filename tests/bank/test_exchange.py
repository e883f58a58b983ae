"""The format of a file of questions: written as its schema says, read strictly, whatever is in it.

The schema is held against JSON Schema draft 2020-12 by the library jsonschema. Sources of the form: RFC 8259 (JSON),
RFC 7493 (I-JSON: unique names). What is refused follows our own list of bad input.
"""

from __future__ import annotations

import io
import json
import zipfile
from time import process_time
from typing import Any

import jsonschema
import pytest

from accounts.models import School, User
from bank.errors import BankError, ExchangeError
from bank.exchange import MOST, SCHEMA
from bank.exchange.reading import MAX_BYTES, read_file, read_question
from bank.exchange.writing import write_file
from bank.models import Question, State
from geometry.errors import GeometryError
from geometry.mistakes import KINDS, OWN
from geometry.shapes import SHAPES
from geometry.sheets import KINDS as SHEETS
from tests.bank.factories import DIAGONAL, make_question
from tests.bank.incoming import entries, file_of

VALIDATOR = jsonschema.Draft202012Validator(json.loads(SCHEMA.read_text()))


def written(**options: bool) -> dict[str, Any]:
    questions = Question.objects.select_related("current").prefetch_related("tags").order_by("number")
    return json.loads(write_file(questions, **options))


def test_the_schema_is_one():
    VALIDATOR.check_schema(VALIDATOR.schema)


def test_the_schema_names_every_shape_sheet_and_mistake_there_is():
    defs = VALIDATOR.schema["$defs"]
    assert defs["mistake"]["properties"]["kind"]["enum"] == [*KINDS, OWN]
    assert defs["punch"]["oneOf"][0]["properties"]["shape"]["enum"] == list(SHAPES)
    kinds = [kind["properties"]["kind"] for kind in defs["sheet"]["oneOf"]]
    assert [*kinds[0]["enum"], kinds[1]["const"], kinds[2]["const"]] == sorted(
        SHEETS, key=[*kinds[0]["enum"], "rectangle", "polygon"].index
    )


@pytest.mark.django_db
def test_what_is_written_fits_the_schema_and_names_nobody(school: School, teacher: User):
    make_question(school, teacher, tags=["halves"], note="For Fenna", state=State.READY)
    make_question(school, teacher, spec=DIAGONAL)
    file = written()
    VALIDATOR.validate(file)
    text = json.dumps(file)
    assert not [word for word in ("Edda", "Marlin", "edda@", "Tarnlow", "Fenna", "author") if word in text]
    assert [q.get("note") for q in written(notes=True)["questions"]] == ["For Fenna", None]
    VALIDATOR.validate(written(notes=True))


@pytest.mark.django_db
def test_what_is_written_is_read_as_it_was(school: School, teacher: User):
    question = make_question(school, teacher, tags=["halves", "a & b"], note="Once more", state=State.READY)
    (entry,) = read_file(json.dumps(written(notes=True)).encode())
    read = read_question(entry)
    assert read.spec.to_json() == question.current.spec
    assert [o.to_json() for o in read.options] == question.current.options["options"]
    assert (list(read.tags), read.note, read.wants_ready) == (["a & b", "halves"], "Once more", True)


def zipped(**kwargs: Any) -> bytes:
    kept = io.BytesIO()
    with zipfile.ZipFile(kept, "w", zipfile.ZIP_DEFLATED) as file:
        file.writestr(kwargs.get("name", "questions.json"), kwargs.get("body", "{}"))
    return kept.getvalue()


ENTITIES = (
    b'<?xml version="1.0"?><!DOCTYPE a [<!ENTITY b "&c;&c;"><!ENTITY x SYSTEM "file:///etc/passwd">]><a>&b;&x;</a>'
)
FILES = {
    "empty object": (b"{}", "not a file of questions"),
    "nothing": (b"", "not a JSON file: line 1, character 1"),
    "spaces": (b" \n ", "not a JSON file"),
    "a list": (b"[]", "not a file of questions"),
    "a number": (b"1", "not a file of questions"),
    "another format": (file_of(entries()[0], format="csv"), "not a file of questions"),
    "version 2": (file_of(entries()[0], version=2), "is of version 2; only version 1"),
    "version true": (file_of(entries()[0], version=True), "is of version True"),
    "no questions": (file_of(), "There is no question in this file"),
    "questions no list": (file_of(questions={}), "“questions” must be a list"),
    "unknown field": (file_of(1, author="Edda"), "a field “author” that the format does not know"),
    "too many": (file_of(*[1] * (MOST + 1)), "There are 501 questions in this file; 500 can be read"),
    "too large": (b" " * (MAX_BYTES + 1), "larger than 16,000,000 bytes"),
    "duplicate key": (b'{"format": "creasemark-questions", "format": 1}', "“format” stands twice"),
    "deep duplicate": (file_of(1).replace(b"[1]", b'[{"a": {"b": 1, "b": 2}}]'), "“b” stands twice"),
    "NaN": (file_of(1).replace(b"[1]", b"[NaN]"), "NaN is no number in JSON"),
    "Infinity": (file_of(1).replace(b"[1]", b"[-Infinity]"), "-Infinity is no number in JSON"),
    "5,000 digits": (file_of(1).replace(b"[1]", b"[" + b"9" * 5000 + b"]"), "more than 24 digits"),
    "nesting 100,000": (b"[" * 100_000, "nested too deeply"),
    "nested objects": (b'{"a":' * 100_000, "nested too deeply"),
    "cut off": (file_of(*entries())[:-20], "not a JSON file: line 1"),
    "UTF-16": (file_of(1).decode().encode("utf-16"), "no UTF-8 text"),
    "cp1252": ("{“é”}".encode("cp1252"), "no UTF-8 text"),
    "NUL": (b'{"format": "\0"}', "not a JSON file"),
    "a zip": (zipped(), "not a JSON file|no UTF-8"),
    "a zip bomb": (zipped(body="0" * 10_000_000), "not a JSON file|no UTF-8"),
    "a nested zip": (zipped(name="a.zip", body=zipped()), "not a JSON file|no UTF-8"),
    "a zip that climbs out": (zipped(name="../../etc/cron.d/x"), "not a JSON file|no UTF-8"),
    "entities": (ENTITIES, "not a JSON file"),
    "SVG with script": (b'<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>', "not a JSON file"),
    "PNG and HTML": (b"\x89PNG\r\n\x1a\n<html><script>1</script>", "no UTF-8 text"),
    "CSV": (b"number;key\n1;C\n", "not a JSON file"),
}


@pytest.mark.parametrize("name", FILES)
def test_what_is_no_file_of_questions_is_said_at_once(name):
    data, says = FILES[name]
    start = process_time()
    with pytest.raises(ExchangeError, match=says):
        read_file(data)
    assert process_time() - start < 1


def test_a_byte_order_mark_is_passed_over():
    assert read_file(b"\xef\xbb\xbf" + file_of(*entries())) == entries()  # RFC 8259, section 8.1: parsers may


def put(*path: Any, to: Any) -> dict[str, Any]:
    """An honest question with one thing in it changed; ``None`` takes the field out."""
    entry = entries()[0]
    there = entry
    for step in path[:-1]:
        there = there[step]
    if to is None:
        del there[path[-1]]
    else:
        there[path[-1]] = to
    return entry


CREASE = ("spec", "folds", 0)
PUNCH = ("spec", "punches", 0)
HOLES = ("options", 0, "holes")
WRONG = next(i for i, option in enumerate(entries()[0]["options"]) if option["mistakes"])
MISTAKE = ("options", WRONG, "mistakes", 0)
SQUARE = [["0", "0"], ["1", "0"], ["1", "1"], ["0", "1"]]
QUESTIONS = {
    "no object": (7, "must be an object"),
    "no spec": (put("spec", to=None), "lacks the field “spec”"),
    "spec in text": (put("spec", to='{"version": 1}'), "“spec” must be an object"),
    "spec an array": (put("spec", to=[]), "“spec” must be an object"),
    "spec version 2": (put("spec", "version", to=2), "version must be 1"),
    "unknown field": (put("author", to="Edda"), "a field “author” that the format does not know"),
    "unknown in spec": (put("spec", "secret", to=1), "no field “secret”"),
    "1e400": (put(*PUNCH, "size", to=float("inf")), "a number is needed"),
    "1/0": (put(*PUNCH, "size", to="1/0"), "divided by 0"),
    "1e5000000": (put(*PUNCH, "size", to="1e5000000"), "a number is needed"),
    "many digits": (put(*PUNCH, "size", to="1" * 5000), "a number is needed"),
    "spaces": (put(*PUNCH, "size", to=" 1/2 "), "a number is needed"),
    "underscore": (put(*PUNCH, "size", to="1_0/3"), "a number is needed"),
    "Arabic digits": (put(*PUNCH, "size", to="١/٢"), "a number is needed"),
    "true for a number": (put(*PUNCH, "turn", to=True), "a number is needed"),
    "crease points no list": (put(*CREASE, "crease", to="x"), "must be a list"),
    "layers 0": (put(*CREASE, "layers", to=0), "1 or more"),
    "layers 2.5": (put(*CREASE, "layers", to=2.5), "1 or more"),
    "10,000 folds": (put("spec", "folds", to=entries()[0]["spec"]["folds"] * 5000), "at most 8"),
    "nine folds": (put("spec", "folds", to=[{"bring": ["0", "0"], "to": ["1", "1"]}] * 9), "at most 8"),
    "25 punches": (put("spec", "punches", to=[{"shape": "disc", "at": ["0", "0"]}] * 25), "at most 24"),
    "1,000 punches": (put("spec", "punches", to=entries()[0]["spec"]["punches"] * 1000), "at most 24"),
    "crossing polygon": (
        put("spec", "sheet", to={"kind": "polygon", "points": [SQUARE[0], SQUARE[2], SQUARE[1], SQUARE[3]]}),
        "cross|polygon",
    ),
    "10^6 vertices": (put("spec", "sheet", to={"kind": "polygon", "points": SQUARE * 10_000}), "at most 240"),
    "size 0": (put(*PUNCH, "size", to=0), "between 1/1000 and 1"),
    "size -1": (put(*PUNCH, "size", to=-1), "between 1/1000 and 1"),
    "size 5": (put(*PUNCH, "size", to=5), "between 1/1000 and 1"),
    "unknown shape": (put(*PUNCH, "shape", to="teapot"), "must be one of"),
    "shape a list": (put(*PUNCH, "shape", to=[]), "must be one of"),
    "U+0000 in a name": (put("spec", "a\0b", to=1), "no field"),
    "six options": (put("options", to=entries()[0]["options"] + entries()[0]["options"][:1]), "at most; here are 6"),
    "no options": (put("options", to=[]), "at most; here are 0"),
    "options no list": (put("options", to="ABCDE"), "must be a list"),
    "key of another": (put("key", to="ABCDE"[WRONG]), "The key is said to be"),
    "key a list": (put("key", to=["A"]), "The key is said to be"),
    "holes no list": (put(*HOLES, to=3), "the holes must be a list"),
    "two points": (put(*HOLES, 0, "outline", to=[[0, 0], [1, 1]]), "3 to 2,000 points, not 2"),
    "many points": (put(*HOLES, 0, "outline", to=[[0, 0]] * 2001), "3 to 2,000 points, not 2,001"),
    "far points": (put(*HOLES, 0, "outline", to=[[0, 0], [1, 1e300], [1, 0]]), "two numbers of at most 100"),
    "infinite points": (put(*HOLES, 0, "outline", to=[[0, 0], [1, float("inf")], [1, 0]]), "two numbers"),
    "points in text": (put(*HOLES, 0, "outline", to=["00", "11", "10"]), "a point is two numbers"),
    "kind a list": (put(*MISTAKE, "kind", to=[]), "must be a text"),
    "long sentence": (put(*MISTAKE, "says", to="x" * 301), "300 characters at most"),
    "fold in text": (put(*MISTAKE, "fold", to="1"), "whole numbers"),
    "fold true": (put(*MISTAKE, "fold", to=True), "whole numbers"),
    "line of three": (put(*MISTAKE, "line", to=[[0, 0]] * 3), "given by two points"),
    "thirteen tags": (put("tags", to=[f"tag {n}" for n in range(13)]), "12 tags at most"),
    "long tag": (put("tags", to=["x" * 41]), "40 characters at most"),
    "tag no text": (put("tags", to=[1]), "A tag must be a text"),
    "unknown state": (put("state", to="gone"), "must be one of draft, ready, retired"),
    "long note": (put("note", to="x" * 201), "200 characters at most"),
}
BY_SCHEMA_TOO = set(QUESTIONS) - {
    # what a schema of this draft does not say: how numbers relate, how texts are tidied, lengths after tidying
    *("1e400", "1/0", "infinite points", "key of another", "crossing polygon", "long tag"),
    *("size 0", "size -1", "size 5"),
    *("10,000 folds", "10^6 vertices", "1,000 punches"),  # seconds each in this library
}


@pytest.mark.parametrize("name", QUESTIONS)
def test_what_is_no_question_is_said(name):
    entry, says = QUESTIONS[name]
    start = process_time()
    with pytest.raises((BankError, GeometryError), match=says):
        read_question(entry)
    assert process_time() - start < 1


@pytest.mark.parametrize("name", sorted(BY_SCHEMA_TOO))
def test_the_schema_refuses_what_the_reader_refuses(name):
    whole = {"format": "creasemark-questions", "version": 1, "questions": [QUESTIONS[name][0]]}
    assert not VALIDATOR.is_valid(whole)


def test_what_cannot_be_seen_is_taken_out_of_texts():
    entry = put("note", to="\u202eback\u0000wards \ud800")
    assert read_question(entry).note == "backwards"
