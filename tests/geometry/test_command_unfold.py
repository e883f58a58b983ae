"""``python -m geometry unfold``: one answer for every line in, whatever the line holds."""

import json
import subprocess
import sys

import pytest

from geometry.__main__ import main

DIAGONAL = {
    "version": 1,
    "sheet": {"kind": "square"},
    "folds": [{"bring": [0, 0], "to": [1, 1]}],
    "punches": [{"shape": "disc", "at": ["1/2", "3/4"], "size": "1/12"}],
}
OFF_PAPER = DIAGONAL | {"punches": [{"shape": "disc", "at": ["1/4", "1/4"]}]}
NO_FOLD = DIAGONAL | {"folds": [{"bring": [0, 0], "to": [1, 1]}, {"bring": ["1/2", 0], "to": ["1/2", 0]}]}


def run(*lines: str, options: tuple[str, ...] = ()) -> list[dict]:
    done = subprocess.run(
        [sys.executable, "-m", "geometry", "unfold", *options],
        input="\n".join(lines) + "\n",
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stderr == ""  # progress goes to a terminal only
    return [json.loads(line) for line in done.stdout.splitlines()]


def test_every_line_is_answered_in_its_place():
    good = json.dumps(DIAGONAL)
    answers = run(good, "junk", "", json.dumps(OFF_PAPER), json.dumps(NO_FOLD), "[" * 100_000, good)
    assert [a["ok"] for a in answers] == [True, False, False, False, False, False, True]
    assert answers[0] == answers[-1]


def test_answers_hold_what_the_contract_names():
    (answer,) = run(json.dumps(DIAGONAL))
    assert set(answer) == {"ok", "layers", "punches", "folded", "holes"}
    assert answer["layers"] == [2]
    assert len(answer["punches"][0]) == 32
    assert len(answer["folded"]) == 1
    assert len(answer["holes"]) == 2
    for hole in answer["holes"]:
        assert hole["punch"] == 0
        assert len(hole["outline"]) == 32


def test_holes_of_a_diagonal_fold_mirror_each_other():
    """Mirrored in the line x + y = 1, a point (x, y) goes to (1 - y, 1 - x): the formula of a reflection."""
    (answer,) = run(json.dumps(DIAGONAL))
    centres = [[sum(c) / len(c) for c in zip(*hole["outline"], strict=True)] for hole in answer["holes"]]
    assert sorted(centres) == [pytest.approx([0.25, 0.5]), pytest.approx([0.5, 0.75])]


def test_refusals_name_fold_or_punch():
    off, stuck = run(json.dumps(OFF_PAPER), json.dumps(NO_FOLD))
    assert (off["fold"], off["punch"]) == (None, 0)
    assert off["error"] == "Punch 1 does not touch the folded paper."
    assert (stuck["fold"], stuck["punch"]) == (2, None)
    assert stuck["error"] == "Fold 2 brings a point to where it already is."


def test_steps_add_every_state():
    (answer,) = run(json.dumps(DIAGONAL), options=("--steps",))
    flat, folded = answer["states"]
    assert len(flat["faces"]) == 1
    assert [face["turned"] for face in folded["faces"]] == [False, True]
    assert (len(flat["holes"]), len(folded["holes"])) == (2, 1)


def test_wrong_usage_exits_with_two(capsys):
    with pytest.raises(SystemExit) as wrong:
        main(["unfold", "--no-such-option"])
    assert wrong.value.code == 2
    assert "unrecognized arguments" in capsys.readouterr().err


def test_help_teaches_by_an_example(capsys):
    with pytest.raises(SystemExit) as helped:
        main(["unfold", "--help"])
    assert helped.value.code == 0
    assert "example" in capsys.readouterr().out
