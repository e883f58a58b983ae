"""The environment every test runs in. Set before Django reads its settings."""

import os

os.environ.setdefault("SECRET_KEY", "tests-only-" + "x" * 40)
os.environ.setdefault("HTTPS", "0")
