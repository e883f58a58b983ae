"""Questions as one JSON file: written from the bank, read strictly. ``questions-1.schema.json`` states the format."""

from __future__ import annotations

from pathlib import Path

FORMAT, VERSION = "creasemark-questions", 1
MOST = 500  # questions in a file
SCHEMA = Path(__file__).parent / "questions-1.schema.json"
