"""What can be wrong with a spec: one root, a leaf for each cause, each carrying where it happened."""

from __future__ import annotations


class GeometryError(ValueError):
    """A sentence for the person who wrote the spec, with the place it speaks of.

    ``fold`` counts from 1, ``punch`` from 0 (as in the JSON contract); either is None where it does not apply.
    ``value`` is the offending value, shortened for display.
    """

    def __init__(self, says: str, *, fold: int | None = None, punch: int | None = None, value: object = None):
        super().__init__(says)
        self.fold = fold
        self.punch = punch
        self.value = None if value is None else repr(value)[:80]


class SpecError(GeometryError):
    """The spec cannot be read: not JSON, an unknown field, a number that is none, a sheet that is no polygon."""


class FoldError(GeometryError):
    """A fold that paper cannot make."""


class CreaseError(FoldError):
    """The crease is no line, or misses the paper, or only touches its rim."""


class NothingMovesError(FoldError):
    """No paper lies on the side that moves, or the named side is the crease itself."""


class LayersError(FoldError):
    """There are fewer layers at the grip than the fold takes."""


class SliverError(FoldError):
    """A part would be narrower than a thousandth of the sheet's width."""


class TooFineError(FoldError):
    """Creases given by such long numbers that exact folding would take too long."""


class TooManyPiecesError(FoldError):
    """The paper would lie in more pieces than can be worked out."""


class PunchError(GeometryError):
    """A punch that cannot be made, such as one that misses the paper."""


class OffPaperError(PunchError):
    """No paper lies under the punch."""


class TooManyCornersError(PunchError):
    """Punches that would leave holes with more corners, all in all, than can be worked out."""


class OptionSetError(GeometryError):
    """A spec that cannot carry five options by the rules; the sentence says which rule and what would help."""
