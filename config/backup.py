"""Take the whole site away in one file, and bring it back: the database by its own tools, and the files.

A backup is a tar file: ``manifest.json``, then ``database``, then ``files/``. The database comes first, so every file
that it knows of is there. It may be made while pupils sit: what was acknowledged before it began is in it.
"""

from __future__ import annotations

import hashlib
import io
import json
import os
import shutil
import sqlite3
import subprocess
import tarfile
import tempfile
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import IO, Any

from django.conf import settings
from django.db import connection

FORMAT = 1
SUFFIX = ".creasemark.tar"


class BackupError(Exception):
    """What stands in the way, as a sentence."""


def make_backup(folder: Path, *, at: datetime) -> Path:
    """Write a backup of the site into ``folder`` and return its path; nothing half-written bears its name."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{at.astimezone(UTC):%Y-%m-%dT%H%M%SZ}{SUFFIX}"
    with tempfile.TemporaryDirectory(prefix=".backup-", dir=folder) as place:
        database, whole = Path(place) / "database", Path(place) / "whole"
        _dump(database)
        manifest = {"format": FORMAT, "engine": connection.vendor, "made_at": at.isoformat()}
        manifest |= {"sha256": _digest(database), "bytes": database.stat().st_size}
        whole.touch(mode=0o600)  # children's data: ours alone
        with whole.open("wb") as file:
            _pack(file, manifest, database)
            file.flush()
            os.fsync(file.fileno())
        whole.rename(path)
    return path


def restore_backup(path: Path) -> dict[str, Any]:
    """Bring a backup back into an empty database and return its manifest. Run ``migrate`` afterwards.

    Raises BackupError, and then has changed nothing, for a file that is not whole, of another engine, or for a
    database that holds something already.
    """
    if connection.introspection.table_names():
        raise BackupError("This database is not empty. Set DATABASE_URL to a new, empty one, and restore into that.")
    try:
        with tarfile.open(path) as tar, tempfile.TemporaryDirectory(prefix=".restore-", dir=settings.DATA_DIR) as place:
            manifest = _read_manifest(tar)
            tar.extractall(place, filter="data")
            database = Path(place) / "database"
            if _digest(database) != manifest["sha256"]:
                raise BackupError("This backup is damaged: its database is not what was written.")
            found = len(_files_in(Path(place) / "files"))
            if found != manifest.get("files", found):  # cut short between two members, a tar file reads as whole
                raise BackupError(f"This backup is cut short: it has {found} of {manifest['files']} files.")
            _load(database)
            if (Path(place) / "files").is_dir():
                move = shutil.move
                shutil.copytree(Path(place) / "files", settings.MEDIA_ROOT, copy_function=move, dirs_exist_ok=True)
    except (OSError, tarfile.TarError, KeyError, ValueError) as error:
        raise BackupError(f"{path.name} cannot be read as a backup: {error}") from error
    return manifest


def forget_old(folder: Path, keep: int) -> list[Path]:
    """Delete all but the newest ``keep`` backups in ``folder``: what was erased must leave the backups too."""
    old = sorted(folder.glob(f"*{SUFFIX}"))[:-keep]
    for path in old:
        path.unlink()
    return old


def _pack(file: IO[bytes], manifest: dict[str, Any], database: Path) -> None:
    root = Path(settings.MEDIA_ROOT)
    files = _files_in(root)
    manifest["files"] = len(files)
    with tarfile.open(fileobj=file, mode="w") as tar:
        written = json.dumps(manifest, indent=1).encode()
        head = tarfile.TarInfo("manifest.json")
        head.size, head.mode = len(written), 0o600
        tar.addfile(head, io.BytesIO(written))
        tar.add(database, "database")
        for path in files:
            tar.add(path, f"files/{path.relative_to(root)}")


def _files_in(folder: Path) -> list[Path]:
    return sorted(path for path in folder.rglob("*") if path.is_file())


def _read_manifest(tar: tarfile.TarFile) -> dict[str, Any]:
    member = tar.extractfile("manifest.json")
    manifest = json.load(member) if member else {}
    if manifest.get("format") != FORMAT:
        raise BackupError("This is not a backup that this version of Creasemark can read.")
    if manifest["engine"] != connection.vendor:
        raise BackupError(f"This backup is of {manifest['engine']}, and DATABASE_URL names {connection.vendor}.")
    return manifest


def _digest(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


# --- the databases' own tools -------------------------------------------------------------------------------
def _dump(target: Path) -> None:
    """SQLite's online backup (sqlite.org/backup.html) or ``pg_dump``: one moment of the database, while it is used."""
    if connection.vendor == "postgresql":
        _run("pg_dump", "--format=custom", "--no-owner", "--no-privileges", "--file", str(target))
        return
    with closing(sqlite3.connect(_sqlite_file())) as here, closing(sqlite3.connect(target)) as there:
        here.backup(there)
        if there.execute("PRAGMA integrity_check").fetchall() != [("ok",)]:
            raise BackupError("The database file is damaged: SQLite's own check of the copy fails.")


def _load(source: Path) -> None:
    if connection.vendor == "postgresql":
        database = settings.DATABASES["default"]["NAME"]
        _run("pg_restore", "--exit-on-error", "--single-transaction", "--no-owner", "--dbname", database, str(source))
        return
    connection.close()
    with closing(sqlite3.connect(source)) as here, closing(sqlite3.connect(_sqlite_file())) as there:
        here.backup(there)


def _sqlite_file() -> str:
    return str(settings.DATABASES["default"]["NAME"])


def _run(program: str, *words: str) -> None:
    """Run one of PostgreSQL's programs on our database, whose password no list of processes shows."""
    if shutil.which(program) is None:
        raise BackupError(f"There is no {program} on this machine (Debian: apt install postgresql-client).")
    asked = settings.DATABASES["default"]
    names = {"PGHOST": "HOST", "PGPORT": "PORT", "PGUSER": "USER", "PGPASSWORD": "PASSWORD", "PGDATABASE": "NAME"}
    environment = os.environ | {name: str(asked[key]) for name, key in names.items() if asked.get(key)}
    done = subprocess.run([program, *words], env=environment, capture_output=True, text=True)
    if done.returncode:
        raise BackupError(f"{program} failed: {done.stderr.strip().splitlines()[-1] if done.stderr else 'no reason'}")
