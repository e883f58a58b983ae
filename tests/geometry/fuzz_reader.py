"""Let a coverage-guided fuzzer loose on the reader and the engine. By hand, with atheris (no dependency of ours):

    python -m tests.geometry.fuzz_reader CORPUS -artifact_prefix=CORPUS/ -max_total_time=300 -timeout=20 -max_len=4000

The corpus starts from the specs of the tests of worst cases and from random ones. Anything but an answer or a
``GeometryError`` ends the run with the input that caused it.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from random import Random

import atheris

with atheris.instrument_imports(include=["geometry"]):
    from geometry.commands.unfold import answer
    from geometry.errors import GeometryError

from tests.geometry.random_specs import random_spec
from tests.geometry.test_worst_cases import CASES

LONGEST = 4_000  # bytes of a starting spec


def one_input(data: bytes) -> None:
    """Whatever the bytes, they are answered or refused in a sentence that can be shown."""
    try:
        answer(data.strip(), steps=True)
    except GeometryError as error:
        str(error).encode()


def plant(corpus: Path) -> None:
    """Fill an empty corpus."""
    corpus.mkdir(exist_ok=True)
    if any(corpus.iterdir()):
        return
    texts = [json.dumps(random_spec(Random(seed))) for seed in range(60)]
    for i, text in enumerate([*texts, *(text for _, text, _ in CASES)]):
        if len(text) <= LONGEST:
            (corpus / f"{i}.json").write_text(text)


if __name__ == "__main__":
    plant(Path(sys.argv[1]))
    atheris.Setup(sys.argv, one_input)
    atheris.Fuzz()
