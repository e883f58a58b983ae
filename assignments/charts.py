"""A chart of marks over sets, as SVG that takes its colours and its face from the page's style sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

import leather

from assignments.progress import Step

WIDTH, HEIGHT = 560, 260
MOST_NUMBERS = 12  # below a chart; more would run into each other on a telephone
PENCIL = "currentColor"


class Line(leather.Line):
    """A line without an entry in a legend: the page has its own, which tells lines apart by more than colour."""

    def legend_to_svg(self, *_: object) -> list[object]:
        return []


class Dots(leather.Dots):
    """Dots without an entry in a legend."""

    def legend_to_svg(self, *_: object) -> list[object]:
        return []


@dataclass(frozen=True)
class Chart:
    """``svg`` holds numbers only: sets are numbered as in the table beside it."""

    svg: str


def chart_of(steps: Sequence[Step]) -> Chart:
    """Draw the share right, in per cent, as a line with dots, and the share predicted as a dashed line."""
    chart = leather.Chart()
    chart.add_x_scale(0.5, max(len(steps), 2) + 0.5)
    chart.add_y_scale(0, 100)
    numbered = range(1, len(steps) + 1, ceil(len(steps) / MOST_NUMBERS))
    chart.add_x_axis(ticks=list(numbered), tick_formatter=lambda value, *_: f"{value}")
    chart.add_y_axis(ticks=[0, 20, 40, 60, 80, 100], tick_formatter=lambda value, *_: f"{value}")
    right = [(number, 100 * step.right) for number, step in enumerate(steps, 1)]
    predicted = [(number, 100 * step.predicted) for number, step in enumerate(steps, 1)]
    chart.add_series(leather.Series(predicted), Line(PENCIL, stroke_dasharray="7 5"))
    chart.add_series(leather.Series(right), Line(PENCIL))
    chart.add_series(leather.Series(right), Dots(PENCIL, radius=6))
    drawn = chart.to_svg(width=WIDTH, height=HEIGHT)
    size = f'width="{WIDTH}" height="{HEIGHT}"'
    return Chart(drawn.replace(f"<svg {size}", f'<svg viewBox="0 0 {WIDTH} {HEIGHT}"', 1))
