"""Runs commands of ``manage.py`` one after the other in one process, which starts much quicker than a process for each.

Reads a JSON list of words a line; answers with a line of JSON: ``{"said": ...}`` or ``{"failed": ...}``.
"""

from __future__ import annotations

import io
import json
import subprocess
import sys
from traceback import format_exc

from tests.sites import ROOT


class Clerk:
    """The other end: ``run("history", "3")`` gives what the command printed."""

    def __init__(self, environment: dict[str, str]) -> None:
        command = [sys.executable, "-m", "tests.faults.clerk"]
        pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE, "stderr": subprocess.DEVNULL, "text": True}
        self.process = subprocess.Popen(command, cwd=ROOT, env=environment, start_new_session=True, **pipes)

    def run(self, *words: str) -> str:
        assert self.process.stdin is not None
        assert self.process.stdout is not None
        print(json.dumps(words), file=self.process.stdin, flush=True)
        answer = json.loads(self.process.stdout.readline())
        assert "said" in answer, f"{words}: {answer['failed']}"
        return answer["said"]

    def close(self) -> None:
        self.process.kill()
        self.process.wait(timeout=20)


def main() -> None:
    import django
    from django.core.management import call_command
    from django.db import close_old_connections, connections

    django.setup()
    for line in sys.stdin:
        said = io.StringIO()
        close_old_connections()  # the database may have been killed since the last
        try:
            call_command(*json.loads(line), stdout=said, stderr=io.StringIO())
            answer = {"said": said.getvalue()}
        except Exception:
            answer = {"failed": format_exc()}
        connections.close_all()
        print(json.dumps(answer), flush=True)


if __name__ == "__main__":
    main()
