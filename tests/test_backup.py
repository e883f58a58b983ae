"""A restore drill: a backup made while pupils answer, brought back into an empty database, has every answer."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import pytest

from config.backup import SUFFIX, forget_old
from tests.sites import database, environment_of, run

KINDS = ["sqlite", pytest.param("postgresql", marks=pytest.mark.postgresql)]


def pictures(folder: Path) -> dict[str, str]:
    """Every file of the site by its name, as a digest of its bytes."""
    files = [path for path in (folder / "files").rglob("*") if path.is_file()]
    return {str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest() for path in files}


@pytest.mark.parametrize("kind", KINDS)
def test_a_backup_in_mid_sitting_restores_every_answer_and_picture(kind, tmp_path):
    here, there = tmp_path / "here", tmp_path / "there"
    here.mkdir()
    there.mkdir()
    with database(kind, here) as url, database(kind, there) as empty:
        made = json.loads(run(environment_of(url, here), "-m", "tests.backup_drill", "make", str(tmp_path)))
        assert Path(made["path"]).stat().st_mode & 0o077 == 0, "others may read children's data"
        told = json.loads(run(environment_of(empty, there), "-m", "tests.backup_drill", "restore", made["path"]))
    assert pictures(there) == pictures(here) != {}
    assert set(made["before"]) <= set(told["kept"]) <= set(made["all"])
    assert len(told["kept"]) == len(set(told["kept"])) >= 20
    damaged, short, without_last, full = told["refused"]
    assert "damaged" in damaged
    assert "cannot be read as a backup" in short
    assert "cut short" in without_last
    assert "not empty" in full


def test_only_the_newest_backups_are_kept(tmp_path):
    """What was erased must leave the backups too, and does so by their age."""
    names = [f"2026-05-{day:02}T020000Z{SUFFIX}" for day in range(1, 6)]
    for name in names:
        (tmp_path / name).touch()
    (tmp_path / "notes.txt").touch()
    assert [path.name for path in forget_old(tmp_path, 2)] == names[:3]
    assert sorted(path.name for path in tmp_path.iterdir()) == [*names[3:], "notes.txt"]
