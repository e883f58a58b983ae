"""The rim about polygons that lie over one another, against shapely's union, and that of paper folded into a frame."""

from random import Random

import numpy as np
import pytest
import shapely

from geometry.folding import fold_sheet
from geometry.plane import to_xy
from geometry.silhouettes import rims_about
from geometry.spec import read_spec


def lattice_polygon(rng: Random) -> tuple[tuple[int, int, int], ...]:
    """A convex polygon with corners on few lattice points, so that corners, edges and lines often fall together."""
    while True:
        hull = shapely.MultiPoint(
            [(rng.randint(0, 4), rng.randint(0, 4)) for _ in range(rng.randint(3, 6))]
        ).convex_hull
        if hull.geom_type == "Polygon":
            corners = shapely.get_coordinates(shapely.orient_polygons(hull))[:-1]
            return tuple((int(x), int(y), 1) for x, y in corners)


@pytest.mark.parametrize("seed", range(8))
def test_it_is_that_of_shapelys_union(seed):
    rng = Random(seed)
    told = 0
    for _ in range(100):
        polygons = [lattice_polygon(rng) for _ in range(rng.randint(1, 5))]
        union = shapely.union_all([shapely.Polygon(to_xy(p)) for p in polygons], grid_size=1e-10)
        rims = rims_about(polygons)
        if rims is None:
            corners = [corner for ring in shapely.get_rings(union) for corner in ring.coords[:-1]]
            assert union.geom_type == "MultiPolygon" or len(set(corners)) < len(corners)
            continue
        told += 1
        outer, *inner = map(to_xy, rims)
        assert shapely.LinearRing(outer).is_ccw
        assert not any(shapely.LinearRing(ring).is_ccw for ring in inner)
        found = shapely.Polygon(outer, inner)
        assert found.is_valid
        assert len(inner) == len(union.interiors)
        assert shapely.symmetric_difference(found, union, grid_size=1e-10).area < 1e-9
    assert told > 60


def test_paper_folded_into_a_frame_is_open_in_the_middle():
    folds = [
        {"crease": [[2, 0], ["5/2", "1/2"]], "moves": [9, 0]},
        {"crease": [[2, "5/2"], ["5/2", 2]], "moves": [2, 8]},
        {"crease": [[0, 2], ["1/2", "5/2"]], "moves": [-3, 2]},
    ]
    sheet = {"kind": "rectangle", "width": 10, "height": "1/2"}
    spec = read_spec({"version": 1, "sheet": sheet, "folds": folds})
    state = fold_sheet(spec.sheet, spec.folds).states[-1]
    outer, inner = state.rims
    assert np.ptp(inner, axis=0).tolist() == [1.5, 1.5]
    assert state.outline.area == shapely.Polygon(outer).area - 2.25
