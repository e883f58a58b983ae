"""``make audit``: ask whether a fault is known in a dependency, by pip-audit (Python Packaging Authority).

Ends badly where one is known, and well where nobody could be asked, which it says.
"""

from __future__ import annotations

import json
import subprocess
import sys

from tests.sites import ROOT

PATIENCE = 120


def known_faults() -> list[str] | None:
    """Return a line for each known fault of what ``requirements.lock`` pins, or ``None`` if nobody could be asked."""
    command = [sys.executable, "-m", "pip_audit", "--requirement", str(ROOT / "requirements.lock"), "--disable-pip"]
    options = ["--require-hashes", "--format", "json", "--progress-spinner", "off", "--timeout", "10"]
    try:
        done = subprocess.run([*command, *options], capture_output=True, text=True, timeout=PATIENCE)
        told = json.loads(done.stdout)
    except (subprocess.TimeoutExpired, json.JSONDecodeError):
        return None
    return [
        f"{one['name']} {one['version']}: {fault['id']}, mended in {fault['fix_versions'] or 'none yet'}"
        for one in told["dependencies"]
        for fault in one.get("vulns", ())
    ]


def main() -> int:
    faults = known_faults()
    if faults is None:
        print("The database of known faults could not be asked, so nothing was audited.")
        return 0
    print("\n".join(faults) or "No fault is known in what requirements.lock pins.")
    return int(bool(faults))


if __name__ == "__main__":
    sys.exit(main())
