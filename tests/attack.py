"""An attacker who keeps everything that a pupil's browser is given of many questions, learns on half of them which
option was the key, and guesses the other half. By hand, with the thousand questions of the goal:

    SECRET_KEY=... DJANGO_SETTINGS_MODULE=config.settings python -m tests.attack --questions 1000

The bound is exact: of n guesses at five options, chance alone reaches it in one of a thousand attacks.
"""

from __future__ import annotations

import argparse
import gzip
import re
import sys
from collections.abc import Callable, Iterator
from functools import partial
from random import Random
from statistics import median
from typing import NamedTuple

import numpy as np
from scipy.stats import binom

Features = dict[str, float]
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


class Question(NamedTuple):
    """What was received of each option, at A to E, and where the key stood: which the attacker learns afterwards."""

    options: list[Features]
    key: int


def received(count: int, seed: int) -> Iterator[Question]:
    """Questions as the site makes, draws, shuffles and names them for a sitting each."""
    from assignments.marking import Standing
    from assignments.papers import draw_paper, places
    from assignments.pupil_pages import options_of, without_words
    from bank.drawing import draw_pictures
    from bank.models import Picture, Version
    from geometry.generation import generate

    lot = Random(seed)
    for number, (spec, options) in enumerate(generate(count=count, seed=seed), 1):
        version = Version(pk=number, spec=spec.to_json(), options=options.to_json(), folds=len(spec.folds))
        drawn = tuple(draw_pictures(version, [Picture.Kind.OPTION]))
        paper = draw_paper([number], lot, shuffle_questions=True, shuffle_options=True)
        place = places(paper)[0]
        shuffled = [without_words(drawn["ABCDE".index(letter)]) for letter in place.order]
        shown = options_of(1000 + number, place, shuffled, Standing())
        yield Question(
            [features(one.name, one.svg, at) for at, one in enumerate(shown)], place.order.index(version.key)
        )


def features(name: str, svg: str, place: int) -> Features:
    """Numbers that can be read off one option's bytes."""
    numbers = [float(number) for number in NUMBER.findall(svg)]
    told = {
        "place": place,
        "name": int(name, 16),
        "parity of name": int(name, 16) % 2,
        "bytes": len(svg),
        "gzip": len(gzip.compress(svg.encode(), mtime=0)),
        "elements": svg.count("<"),
        "paths": svg.count("<path"),
        "outlines": svg.upper().count("M"),
        "numbers": len(numbers),
        "first number": numbers[5] if len(numbers) > 5 else 0,
        "last number": numbers[-1] if numbers else 0,
        "sum": sum(numbers),
        "largest": max(numbers, default=0),
    }
    told |= {f"digit {digit} of name": int(one, 16) for digit, one in enumerate(name[:4])}
    return told | {f"count of {digit}": svg.count(digit) for digit in "0123456789."}


RULES: dict[str, Callable[[list[float]], float]] = {
    "most": max,
    "least": min,
    "middle": median,
    "first in row": lambda values: values[0],
    "last in row": lambda values: values[-1],
}


def guess(question: Question, feature: str, rule: str) -> int:
    """The option that a rule picks: the one whose feature is nearest to what the rule names; of equals, the first."""
    values = [option[feature] for option in question.options]
    wanted = RULES[rule](values)
    return int(np.argmin([abs(value - wanted) for value in values]))


def hits(questions: list[Question], feature: str, rule: str) -> int:
    return sum(guess(question, feature, rule) == question.key for question in questions)


def attack(questions: list[Question]) -> dict[str, int]:
    """For each feature, and for all at once by a learnt model, how many of the second half are guessed right."""
    learnt, asked = questions[: len(questions) // 2], questions[len(questions) // 2 :]
    found = {}
    for feature in questions[0].options[0]:
        best = max(RULES, key=partial(hits, learnt, feature))
        found[f"{feature} ({best})"] = hits(asked, feature, best)
    return found | {"names and places, by regression": learnt_model(learnt, asked)}


def learnt_model(learnt: list[Question], asked: list[Question]) -> int:
    """Logistic regression (scikit-learn) over what is not the picture: the names' digits and the places."""
    from sklearn.linear_model import LogisticRegression

    names = [name for name in learnt[0].options[0] if "name" in name or name == "place"]

    def rows(questions: list[Question]) -> np.ndarray:
        table = np.array([[option[name] for name in names] for question in questions for option in question.options])
        return (table - table.mean(0)) / (table.std(0) + 1e-9)

    is_key = [at == question.key for question in learnt for at in range(5)]
    model = LogisticRegression(max_iter=500).fit(rows(learnt), is_key)
    chances = model.predict_proba(rows(asked))[:, 1].reshape(-1, 5)
    return int(sum(chances.argmax(1) == [question.key for question in asked]))


def bound(guesses: int) -> int:
    """The most hits that chance reaches: more have a probability below 0.001 (of 1,000 guesses 240)."""
    return int(binom.isf(0.001, guesses, 0.2))


def main() -> int:
    import django

    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--questions", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=5)
    asked = parser.parse_args()
    django.setup()
    questions = list(received(asked.questions, asked.seed))
    guesses = len(questions) - len(questions) // 2
    print(f"{guesses} guesses, chance {guesses / 5:.0f}, bound {bound(guesses)}")
    found = attack(questions)
    for feature, count in sorted(found.items(), key=lambda pair: -pair[1]):
        print(f"{count:5} {feature}{'  OVER' if count > bound(guesses) else ''}")
    return int(max(found.values()) > bound(guesses))


if __name__ == "__main__":
    sys.exit(main())
