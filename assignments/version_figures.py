"""Figures of questions over all their sittings, from tables of answers. Pure: no names, no database.

A version may be asked in several sets. Its discrimination is found within each (deviations from that set's own means,
so that an easy set and a hard one do not pass for discrimination) and pooled; with one set that is the usual figure.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

import numpy as np

from assignments import rasch
from assignments.answer_tables import AnswerTable
from assignments.item_statistics import (
    FEW,
    ItemStatistics,
    OptionStatistics,
    distractor_efficiency,
    item_statistics,
)
from assignments.papers import LETTERS
from bank.reasons import FEATURE_WORDS


@dataclass(frozen=True)
class Scaled:
    """A Rasch difficulty and its standard error in logits, from so many sittings of one set."""

    difficulty: float
    error: float
    sittings: int


@dataclass(frozen=True)
class VersionFigures:
    """All that the sittings of one version tell. Options' mean scores are shares of the set right, 0 to 1."""

    version: int
    accepts: str
    sittings: int
    item: ItemStatistics
    options: tuple[OptionStatistics, ...]
    unanswered: int
    scaled: Scaled | None = None

    @property
    def are_few(self) -> bool:
        return self.sittings < FEW

    @property
    def efficiency(self) -> float:
        """The share of wrong options that at least 5 % chose."""
        return distractor_efficiency(self.options, self.accepts)


def figures_by_version(tables: Iterable[AnswerTable]) -> dict[int, VersionFigures]:
    """Return the figures of every version in the tables, by its primary key."""
    tables = [table for table in tables if len(table.chosen)]
    parts: dict[int, list[tuple[AnswerTable, int, ItemStatistics]]] = {}
    for table in tables:
        for place, statistics in enumerate(item_statistics(table.right)):
            parts.setdefault(table.items[place].version, []).append((table, place, statistics))
    scales = {id(table): difficulties_of(table) for table in tables}
    return {version: _pooled(version, found, scales) for version, found in parts.items()}


def difficulties_of(table: AnswerTable) -> rasch.Difficulties | None:
    """Return the Rasch difficulties of a table's items, once enough sat it to mean something."""
    if len(table.chosen) < rasch.LEAST_SITTINGS:
        return None
    try:
        return rasch.difficulties(table.right)
    except ValueError:  # too few questions told the pupils apart
        return None


def _pooled(
    version: int,
    parts: list[tuple[AnswerTable, int, ItemStatistics]],
    scales: Mapping[int, rasch.Difficulties | None],
) -> VersionFigures:
    sizes = np.array([len(table.chosen) for table, _, _ in parts])
    whole = sizes.sum()
    item = parts[0][2]
    if len(parts) > 1:
        item = ItemStatistics(
            facility=float(sum(size * one.facility for size, (_, _, one) in zip(sizes, parts, strict=True)) / whole),
            item_total=_within(parts, rest=False),
            item_rest=_within(parts, rest=True),
            upper_lower=float(sum(n * one.upper_lower for n, (_, _, one) in zip(sizes, parts, strict=True)) / whole),
        )
    chosen = np.concatenate([table.chosen[:, place] for table, place, _ in parts])
    score = np.concatenate([table.right.mean(axis=1) for table, _, _ in parts])
    return VersionFigures(
        version=version,
        accepts=parts[0][0].items[parts[0][1]].accepts,
        sittings=int(whole),
        item=item,
        options=tuple(_option(letter, chosen == place, score) for place, letter in enumerate(LETTERS)),
        unanswered=int((chosen < 0).sum()),
        scaled=_scaled(parts, scales),
    )


def _option(letter: str, took: np.ndarray, score: np.ndarray) -> OptionStatistics:
    count = int(took.sum())
    return OptionStatistics(letter, count, count / len(took), float(score[took].mean()) if count else None)


def _within(parts: list[tuple[AnswerTable, int, ItemStatistics]], *, rest: bool) -> float | None:
    """Pearson's r of the item with the total, or the rest, of deviations from each set's own means."""
    both = spread = spread_of_scores = 0.0
    for table, place, _ in parts:
        own = table.right[:, place].astype(float)
        others = table.right.shape[1] - rest
        if not others:
            continue
        score = (table.right.sum(axis=1) - rest * own) / others
        own, score = own - own.mean(), score - score.mean()
        both += float(own @ score)
        spread += float(own @ own)
        spread_of_scores += float(score @ score)
    root = np.sqrt(spread * spread_of_scores)
    return float(both / root) if root > 1e-12 else None


def _scaled(
    parts: list[tuple[AnswerTable, int, ItemStatistics]], scales: Mapping[int, rasch.Difficulties | None]
) -> Scaled | None:
    """The Rasch difficulty in the set that most sat."""
    for table, place, _ in sorted(parts, key=lambda part: -len(part[0].chosen)):
        scale = scales[id(table)]
        if scale is not None and np.isfinite(scale.difficulty[place]):
            return Scaled(float(scale.difficulty[place]), float(scale.error[place]), len(table.chosen))
    return None


# --- what makes questions hard ---------------------------------------------------------------------------------
ITEMS_A_FEATURE = 4  # fewer items than this for each feature say nothing of it (our choice)


@dataclass(frozen=True)
class Weight:
    """How much harder one more of a feature makes a question, in logits: as supposed, and as found."""

    feature: str
    supposed: float
    found: float

    @property
    def says(self) -> str:
        return FEATURE_WORDS[self.feature]


@dataclass(frozen=True)
class Explanation:
    """The linear logistic test model over ``items`` questions; ``explained`` is the share of their differences."""

    items: int
    explained: float
    weights: tuple[Weight, ...]


def explain_difficulty(
    tables: Iterable[AnswerTable], features: Mapping[int, Mapping[str, float]], supposed: Mapping[str, float]
) -> Explanation | None:
    """Regress Rasch difficulties on features of the versions; ``None`` while there are too few questions.

    Each set has an origin of its own, since its difficulties sum to 0. Features that do not vary are left out, and
    of the others those supposed to matter most are taken while there are questions enough.
    """
    rows = [
        (number, item.version, scale.difficulty[place], scale.error[place])
        for number, table in enumerate(tables)
        if (scale := difficulties_of(table)) is not None
        for place, item in enumerate(table.items)
        if np.isfinite(scale.difficulty[place]) and features.get(item.version)
    ]
    columns = {name: np.array([features[row[1]].get(name, 0.0) for row in rows], dtype=float) for name in supposed}
    varying = (
        sorted((name for name in supposed if np.ptp(columns[name]) > 0), key=lambda n: -supposed[n]) if rows else []
    )
    names = varying[: len(rows) // ITEMS_A_FEATURE]
    if not names:
        return None
    sets = sorted({row[0] for row in rows})
    origins = {f"set {number}": np.array([float(row[0] == number) for row in rows]) for number in sets[1:]}
    try:
        found = rasch.explain(
            np.array([row[2] for row in rows]),
            np.array([row[3] for row in rows]),
            {name: columns[name] for name in names} | origins,
        )
    except ValueError:  # too few questions for so many features and sets
        return None
    weights = tuple(Weight(name, supposed[name], found.weights[name]) for name in names)
    return Explanation(len(rows), found.explained, weights)
