"""The worst that can be sent: answered or refused in a sentence, within a second and 200 MB of memory."""

import json
import subprocess
import sys
from fractions import Fraction as F
from math import cos, pi, sin
from random import Random

import pytest

SECONDS, MEGABYTES = 1.0, 200

# One line of JSON for each line read: what the command would answer, with all steps, and what that took.
MEASURE = """
import json, resource, sys, time
from geometry.commands.unfold import answer
from geometry.errors import GeometryError
resource.setrlimit(resource.RLIMIT_CPU, (120, 120))
resource.setrlimit(resource.RLIMIT_AS, (2 << 30, 2 << 30))
def megabytes():
    "The most this program held, by proc(5); what getrusage(2) says takes in the process that started it."
    return next(int(row.split()[1]) for row in open("/proc/self/status") if row.startswith("VmHWM")) / 1024
for line in sys.stdin.buffer:
    start = time.process_time()
    try:
        says = len(answer(line.strip(), steps=True)["holes"])
    except GeometryError as error:
        says = str(error)
    took = time.process_time() - start
    print(json.dumps([says, took, megabytes()]), flush=True)
"""


def spec(folds=(), punches=(), kind=None):
    return json.dumps({"version": 1, "sheet": kind or {"kind": "square"}, "folds": folds, "punches": punches})


def halves(count, **more):
    """The square folded in half over and over, towards the origin."""
    ends = [F(1, 2 ** (k // 2)) for k in range(count)]
    return [
        {"bring": [str(end), 0] if k % 2 == 0 else [0, str(end)], "to": [0, 0], **more} for k, end in enumerate(ends)
    ]


def long_folds(count, digits):
    """Nearly halves, each point given by numbers of so many digits."""
    rng = Random(digits)

    def number(near):
        below = 10 ** (digits - 1) + rng.randint(1, 10 ** (digits - 3))
        return str(F(round(F(near) * below) + rng.randint(0, below // 10**5), below))

    folds = []
    for k in range(count):
        at = 0.5 ** (k // 2 + 1) * (1 + 0.04 * (k + 1) / count)
        crease, moves = ([[at, -0.1], [at * 1.02, 1.1]], [1.5, 0.5])
        if k % 2:
            crease, moves = ([[-0.1, at], [1.1, at * 1.02]], [0.5, 1.5])
        folds.append({"crease": [[number(c) for c in p] for p in crease], "moves": [number(c) for c in moves]})
    return folds


def comb(teeth):
    """A sheet with so many teeth."""
    top = [[str(F(2 * teeth - 1 - i, 2 * teeth - 1)), "1/20" if i % 2 else 1] for i in range(2 * teeth)]
    return {"kind": "polygon", "points": [[0, 0], [1, 0], *top]}


def star(at, size, turn=0, points=100):
    rays = [(0.2 if i % 2 else 0.5, 2 * pi * i / points) for i in range(points)]
    outline = [[round(r * cos(t), 3), round(r * sin(t), 3)] for r, t in rays]
    return {"shape": "outline", "at": [at, at], "size": size, "turn": turn, "points": outline}


def stars(count, at, size):
    return [star(at, size, turn) for turn in range(count)]


DISCS = [{"shape": "disc", "at": ["1/16", y], "size": "1/40"} for y in ("1/32", "3/32")]
FOLD = {"bring": [0, 0], "to": [1, 1]}  # found by atheris: the third crease leans by a part in 10^17
ALMOST_UPRIGHT = [
    {"bring": ["1/2", "3/16"], "to": ["1/2", 0]},
    {"bring": [0, "1/25"], "to": ["5/8", "-329/512"]},
    {
        "crease": [
            ["37095312811117789/57481285222400000", "-1042689781747/3592580326400"],
            ["37095312811117789/57481285222400001", "-144544700147/3592580326400"],
        ],
        "moves": ["9950214617/13107200000", "21/256"],
    },
]

CASES = [
    ("six folds, 64 layers", spec(halves(6), DISCS), 128),
    ("six folds, punches overlap", spec(halves(6), [DISCS[0], DISCS[0] | {"turn": 45}]), 64),
    ("seven folds, the last takes half", spec([*halves(6), halves(7, layers=32)[6]], DISCS[:1]), 64),
    ("eight folds, 256 layers", spec(halves(8), [{"shape": "disc", "at": ["1/32", "1/32"], "size": "1/40"}]), 256),
    ("a large outline in 256 layers", spec(halves(8), [star("1/32", "1/20")]), 256),
    ("outlines on one another", spec(halves(1), stars(24, "1/4", "1/9")), 2),
    ("outlines in 64 layers", spec(halves(6), stars(24, "1/16", "1/9")), "at most 8,000 can be worked out"),
    ("corners without number", spec(halves(8), stars(8, "1/32", "1/20")), "at most 8,000"),
    ("the largest outlines", spec(halves(8), [star("1/32", "1/15", turn, 240) for turn in range(2)]), "at most 8,000"),
    ("a comb with 100 teeth", spec(halves(1), [], comb(100)), 0),
    ("a comb with many outlines", spec([], stars(24, "1/4", "1/2"), comb(50)), "8,000 can be worked out"),
    ("a comb folded often", spec(halves(8)[1::2], [], comb(60)), "Fold 4 would leave a strip narrower"),
    ("eight folds of 17 digits", spec(long_folds(8, 17)), 0),
    ("eight folds of 24 digits", spec(long_folds(8, 24)), 0),
    ("eight folds of 60 digits", spec(long_folds(8, 60)), "1,000 can be folded"),
    ("corners closer than floats can tell", spec(ALMOST_UPRIGHT), 0),
    ("10,000 folds", spec([FOLD] * 10_000), "longer than 60,000"),
    ("900 folds", spec([FOLD] * 900), "There are 900 folds"),
    ("1,000 punches", spec(punches=[{"shape": "disc", "at": [0, 0]}] * 1_000), "There are 1,000 punches"),
    ("a million vertices", spec(kind={"kind": "polygon", "points": [[0, 0]] * 1_000_000}), "longer than 60,000"),
    ("400 digits", spec([{"bring": ["1" * 400, 0], "to": [0, 0]}]), "a number is needed"),
    ("400 digits, unquoted", spec([{"bring": [int("1" * 400), 0], "to": [0, 0]}]), "more than 24 digits"),
    ("5,000 digits below", spec([{"bring": ["1/" + "9" * 5000, 0], "to": [0, 0]}]), "a number is needed"),
    ("nested 25,000 deep", "[" * 25_000, "nested too deeply"),
    ("nested 100,000 deep", "[" * 100_000, "longer than 60,000"),
    ("objects nested", '{"a":' * 9_000, "nested too deeply"),
    ("NaN", spec([FOLD | {"to": [float("nan"), 0]}]), "NaN is not a number"),
    ("infinite", spec([FOLD | {"to": [float("inf"), 0]}]), "Infinity is not a number"),
    ("1e308", spec([FOLD | {"to": [1e308, 0]}]), "must lie between -100 and 100"),
    ("1e400", spec([FOLD]).replace("[1, 1]", "[1e400, 1]"), "a number is needed"),
    ("1e5000000", spec([FOLD | {"to": ["1e5000000", 0]}]), "a number is needed"),
    ("the least float", spec([FOLD | {"to": [5e-324, 0]}]), "finer than can be drawn"),
]


@pytest.fixture(scope="module")
def measured() -> dict[str, tuple]:
    lines = "\n".join(text for _, text, _ in CASES)
    run = subprocess.run([sys.executable, "-c", MEASURE], input=lines, capture_output=True, text=True, timeout=150)
    assert run.returncode == 0, run.stderr[-2000:]
    answers = [json.loads(line) for line in run.stdout.splitlines()]
    return dict(zip([name for name, _, _ in CASES], answers, strict=True))


@pytest.mark.parametrize(("name", "expected"), [(name, expected) for name, _, expected in CASES])
def test_it_is_answered_or_refused_soon_and_in_little_memory(measured, name, expected):
    says, took, megabytes = measured[name]
    if isinstance(expected, str):
        assert expected in str(says)
        assert str(says).endswith(".")
    else:
        assert says == expected
    assert took < SECONDS
    assert megabytes < MEGABYTES
