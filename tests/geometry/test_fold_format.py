"""FOLD export, held against the published text of the format and folded again from the file alone.

Source of the rules: the FOLD specification, version 1.2 (E. Demaine, J. Ku, R. Lang; github.com/edemaine/fold, MIT): B
edges have one face, a valley brings the two faces' normals together, faceOrders is relative to the normal of the second
face, angles are 180, -180 and 0, arrays of one prefix have one length.
"""

from __future__ import annotations

import json
from collections import defaultdict
from functools import cache
from math import atan2, degrees, pi
from typing import Any

import numpy as np
import pytest
import shapely

from geometry.errors import SpecError
from geometry.fold_format import read_fold, write_fold
from geometry.folding import fold_sheet
from geometry.spec import read_spec
from tests.geometry.gallery import GALLERY, LEVEL, UPRIGHT, at_random, spec

NEAR = 1e-9


def exported(data: dict[str, Any]) -> dict[str, Any]:
    """The FOLD file of a spec, as a reader of the JSON sees it."""
    question = read_spec(data)
    return json.loads(json.dumps(write_fold(question, fold_sheet(question.sheet, question.folds), "A question")))


@cache
def gallery_and_random() -> list[dict[str, Any]]:
    return [*GALLERY.values(), *(unfolding.spec.to_json() for unfolding in at_random(40))]


@cache
def files() -> list[dict[str, Any]]:
    return [exported(data) for data in gallery_and_random()]


def frames(file: dict[str, Any]) -> list[dict[str, Any]]:
    """Every frame with what it inherits from its parent, the key frame first."""
    found = [file]
    for frame in file["file_frames"]:
        parent = found[frame["frame_parent"]] if frame.get("frame_inherit") else {}
        found.append({k: v for k, v in parent.items() if not k.startswith("file_")} | frame)
    return found


def test_two_folds_of_a_square_give_the_known_pattern():
    """Worked by hand: folded in half and half again, three creases are valleys and one a mountain (Maekawa)."""
    file = exported(spec({"crease": UPRIGHT, "moves": [1, 0]}, {"crease": LEVEL, "moves": ["1/4", 1]}, punches=[]))
    assert sorted(file["vertices_coords"]) == [[x, y] for x in (0, 0.5, 1) for y in (0, 0.5, 1)]
    assert sorted(file["edges_assignment"]) == ["B"] * 8 + ["M"] + ["V"] * 3
    ends = [file["edges_vertices"][i] for i, letter in enumerate(file["edges_assignment"]) if letter == "M"]
    assert sorted(file["vertices_coords"][v] for v in ends[0]) == [[0.5, 0.5], [1, 0.5]]
    assert file["file_frames"][0]["edges_assignment"].count("F") == 2


def test_keys_are_the_standard_s_or_have_a_colon():
    known = {"file_spec", "file_creator", "file_title", "file_classes", "file_frames", "faceOrders"}
    for file in files():
        for frame in (file, *file["file_frames"]):
            for key in frame:
                assert key in known or ":" in key or key.split("_")[0] in {"frame", "vertices", "edges", "faces"}
        assert file["file_spec"] == 1.2
        assert file["frame_classes"] == ["creasePattern"]
        assert all(frame["frame_classes"] == ["foldedForm"] for frame in file["file_frames"])


def test_arrays_of_one_prefix_have_one_length():
    for file in files():
        for frame in frames(file):
            for prefix in ("vertices_", "edges_", "faces_"):
                lengths = {len(v) for k, v in frame.items() if k.startswith(prefix) and isinstance(v, list)}
                assert len(lengths) == 1


def test_every_edge_is_a_side_of_its_faces_and_the_rim_is_what_has_one():
    for file in files():
        sides: dict[tuple[int, int], list[int]] = defaultdict(list)
        for face, ring in enumerate(file["faces_vertices"]):
            for u, v in zip(ring, ring[1:] + ring[:1], strict=True):
                sides[min(u, v), max(u, v)].append(face)
        assert sorted(sides) == sorted((min(e), max(e)) for e in file["edges_vertices"])
        for (u, v), letter, faces in zip(
            file["edges_vertices"], file["edges_assignment"], file["edges_faces"], strict=True
        ):
            assert sorted(f for f in faces if f is not None) == sorted(sides[min(u, v), max(u, v)])
            assert (letter == "B") == (len(sides[min(u, v), max(u, v)]) == 1)


def test_faces_are_anticlockwise_and_tile_the_sheet():
    for file, data in zip(files(), gallery_and_random(), strict=True):
        points = np.array(file["vertices_coords"])
        areas = [shoelace(points[ring]) for ring in file["faces_vertices"]]
        assert min(areas) > 0
        sheet = fold_sheet(read_spec(data).sheet, ()).states[0].outline
        assert sum(areas) == pytest.approx(sheet.area, abs=1e-9)
        v, e, f = len(points), len(file["edges_vertices"]), len(areas)
        assert v - e + f == 1  # Euler's formula for a disc


def shoelace(ring: np.ndarray) -> float:
    x, y = ring.T
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2


def test_angles_have_the_sign_of_their_assignment():
    for file in files():
        for frame in frames(file):
            expected = {"V": 180, "M": -180, "F": 0, "B": 0}
            assert frame["edges_foldAngle"] == [expected[letter] for letter in frame["edges_assignment"]]


def test_folding_the_file_again_gives_its_folded_forms():
    """Crossing a V or M edge mirrors in it, crossing an F edge does not: nothing of the engine is used."""
    for file in files():
        flat = np.array(file["vertices_coords"])
        for frame in frames(file)[1:]:
            folded = np.array(frame["vertices_coords"])
            placed = refolded(flat, frame, folded)
            for face, ring in enumerate(frame["faces_vertices"]):
                matrix, shift = placed[face]
                assert flat[ring] @ matrix.T + shift == pytest.approx(folded[ring], abs=1e-7)


def refolded(flat: np.ndarray, frame: dict[str, Any], folded: np.ndarray) -> dict[int, tuple[np.ndarray, np.ndarray]]:
    """Where each face lies when the pattern is folded, begun at the first face as the frame has it."""
    placed = {0: anchored(flat[frame["faces_vertices"][0]], folded[frame["faces_vertices"][0]])}
    waiting = [0]
    across: dict[int, list[tuple[int, int]]] = defaultdict(list)
    for edge, faces in enumerate(frame["edges_faces"]):
        if None not in faces:
            across[faces[0]].append((faces[1], edge))
            across[faces[1]].append((faces[0], edge))
    while waiting:
        face = waiting.pop()
        for other, edge in across[face]:
            if other in placed:
                continue
            matrix, shift = placed[face]
            if frame["edges_assignment"][edge] in "VM":
                p, q = flat[frame["edges_vertices"][edge]]
                d = (q - p) / np.hypot(*(q - p))
                mirror = 2 * np.outer(d, d) - np.eye(2)
                matrix, shift = matrix @ mirror, matrix @ (p - mirror @ p) + shift
            placed[other] = (matrix, shift)
            waiting.append(other)
    return placed


def anchored(flat: np.ndarray, folded: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The isometry that carries three corners (not on one line) of a face to where they lie."""
    matrix, *_ = np.linalg.lstsq(np.column_stack([flat, np.ones(len(flat))]), folded, rcond=None)
    return matrix[:2].T, matrix[2]


def turned_over(frame: dict[str, Any]) -> list[bool]:
    """For each face, whether it lies face down: its corners run clockwise."""
    points = np.array(frame["vertices_coords"])
    return [shoelace(points[ring]) < 0 for ring in frame["faces_vertices"]]


def test_valleys_bring_normals_together_and_mountains_part_them():
    """Read from faceOrders: of two faces joined by a crease, a valley puts each on the front side of the other."""
    for file in files():
        for frame in frames(file)[1:]:
            order = {(f, g): s for f, g, s in frame["faceOrders"]}
            for faces, letter in zip(frame["edges_faces"], frame["edges_assignment"], strict=True):
                if letter in "VM":
                    f, g = max(faces), min(faces)
                    if (f, g) in order:  # they overlap
                        assert order[f, g] == (1 if letter == "V" else -1)


def test_every_overlapping_pair_is_ordered_and_no_other():
    for file in files()[: len(GALLERY) + 10]:
        for frame in frames(file)[1:]:
            points = np.array(frame["vertices_coords"])
            lying = [shapely.Polygon(points[ring]).buffer(0) for ring in frame["faces_vertices"]]
            pairs = {(f, g) for f, g, _ in frame["faceOrders"]}
            for g in range(len(lying)):
                for f in range(g + 1, len(lying)):
                    shared = shapely.intersection(lying[f], lying[g], grid_size=1e-9).area
                    if shared > 1e-6 or shared == 0:
                        assert ((f, g) in pairs) == (shared > 0)


def test_the_order_of_layers_has_no_cycle():
    for file in files():
        for frame in frames(file)[1:]:
            down = turned_over(frame)
            above = [((f, g) if (s > 0) != down[g] else (g, f)) for f, g, s in frame["faceOrders"]]
            assert is_acyclic(above, len(down))


def is_acyclic(arrows: list[tuple[int, int]], n: int) -> bool:
    leading: dict[int, set[int]] = defaultdict(set)
    for upper, lower in arrows:
        leading[upper].add(lower)
    left = set(range(n))
    while free := {v for v in left if not leading[v] & left}:
        left -= free
    return not left


def interior_creases(file: dict[str, Any]) -> dict[int, list[tuple[float, str]]]:
    """For each vertex off the rim: its folded creases' directions in radians, anticlockwise, and letters."""
    points = np.array(file["vertices_coords"])
    rim = {
        v
        for e, letter in zip(file["edges_vertices"], file["edges_assignment"], strict=True)
        if letter == "B"
        for v in e
    }
    around: dict[int, list[tuple[float, str]]] = defaultdict(list)
    for (u, v), letter in zip(file["edges_vertices"], file["edges_assignment"], strict=True):
        for here, there in ((u, v), (v, u)):
            if here not in rim and letter in "VM":
                dx, dy = points[there] - points[here]
                around[here].append((atan2(dy, dx), letter))
    return {v: sorted(creases) for v, creases in around.items()}


def test_maekawa_and_kawasaki_hold_at_every_interior_vertex():
    """Theorems of flat folding (Maekawa: M and V differ by two; Kawasaki: alternate angles sum to 180 degrees)."""
    seen = 0
    for file in files():
        for creases in interior_creases(file).values():
            letters = [letter for _, letter in creases]
            assert abs(letters.count("M") - letters.count("V")) == 2
            turns = [angle for angle, _ in creases]
            gaps = np.diff([*turns, turns[0] + 2 * pi])
            assert degrees(gaps[::2].sum()) == pytest.approx(180, abs=1e-4)
            seen += 1
    assert seen > 20


def test_round_trip_gives_the_question_back():
    for file, data in zip(files(), gallery_and_random(), strict=True):
        assert read_fold(file) == read_spec(data)


def test_a_file_of_another_program_is_refused_with_a_sentence():
    with pytest.raises(SpecError, match="does not say in which order it is folded"):
        read_fold({"file_spec": 1.1, "vertices_coords": []})
    for other in ({}, [], None, "text"):
        with pytest.raises(SpecError, match="not a FOLD file"):
            read_fold(other)
    with pytest.raises(SpecError, match="version must be 1"):
        read_fold({"file_spec": 1.2, "cm:spec": {"version": 2, "sheet": {"kind": "square"}}})
