"""``python -m geometry check`` names every problem of a spec with its place."""

import json
import subprocess
import sys

from geometry.commands.check import answer

FOLD = {"bring": [0, 0], "to": [1, 1]}
PUNCH = {"shape": "disc", "at": ["3/4", "3/4"]}


def found(**parts) -> list[tuple[int | None, int | None, str]]:
    spec = {"version": 1, "sheet": {"kind": "square"}, "folds": [FOLD], "punches": [PUNCH]} | parts
    return [(p["fold"], p["punch"], p["error"]) for p in answer(json.dumps(spec).encode())["problems"]]


def test_a_sound_spec_has_no_problem():
    assert found() == []


def test_everything_that_cannot_be_read_is_named():
    assert found(
        sheet={"kind": "rectangle", "width": 1, "height": 0},
        folds=[FOLD, FOLD | {"way": "up"}, FOLD | {"layers": 0}],
        punches=[PUNCH | {"size": 9}, PUNCH, {"shape": "disc"}],
    ) == [
        (None, None, "The sheet's height must lie between 1/1000 and 10."),
        (2, None, "Fold 2 goes “over” or “behind”, nothing else."),
        (3, None, "Fold 3 takes “all” layers or a whole number of them, 1 or more."),
        (None, 0, "Punch 1: the size must lie between 1/1000 and 1."),
        (None, 2, "Punch 3 lacks the field “at”."),
    ]


def test_the_first_impossible_fold_is_named():
    assert found(folds=[FOLD, {"crease": [[5, 0], [5, 1]], "moves": [0, 0]}]) == [
        (2, None, "The crease of fold 2 misses the paper or only touches its rim.")
    ]


def test_every_punch_that_misses_is_named():
    assert found(punches=[PUNCH, PUNCH | {"at": ["1/8", "1/8"]}, PUNCH | {"at": [3, 3]}]) == [
        (None, 1, "Punch 2 does not touch the folded paper."),
        (None, 2, "Punch 3 does not touch the folded paper."),
    ]


def test_lines_are_answered_one_for_one():
    done = subprocess.run(
        [sys.executable, "-m", "geometry", "check"], input="junk\n\n{}\n", capture_output=True, text=True, check=True
    )
    errors = [json.loads(line)["problems"][0]["error"] for line in done.stdout.splitlines()]
    assert errors == [
        "The spec is not valid JSON.",
        "The spec is not valid JSON.",
        "The spec lacks the field “version”.",
    ]
