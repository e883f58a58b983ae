"""How soon the workbench answers a hand. By hand:

    python -m tests.bench.bench_workbench

A real site and a real browser. A corner is dragged over the sheet and let go, again and again, with three folds and two
punches. Told are, by the browser's own clock, the time from each move of the pointer until its preview is drawn; from
letting go until the whole answer stands on the page: stem, unfolded sheet, options, checks; and what the server's view
takes in CPU time against the same view asked with a field that cannot be read, so that no paper is folded (the floor).
The corner lands elsewhere each time, so what the server keeps of earlier answers helps as it would help a teacher: the
folds before the one under the hand are drawn already.
Goals: a preview within a frame; the full answer within 150 ms at the 95th percentile on a machine that does nothing
else. How loaded this one is, the load and a loop of pure Python tell, printed before and after.
"""

from __future__ import annotations

import os
import shutil
import sys
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median, quantiles
from tempfile import TemporaryDirectory

from playwright.sync_api import Page, expect, sync_playwright

from tests.browser.people import sign_in_adult
from tests.sites import run, running_site

FOLD = {"how": "tray", "place": "top-right", "depth": "1/2", "way": "over", "layers": "all"}
PUNCH = {"shape": "heart", "at": "19/24, 7/12", "size": "1/9", "turn": "0"}
WATCH = """() => {
    window.seen = { moved: 0, preview: [], released: 0, full: [] };
    addEventListener("pointermove", (event) => { window.seen.moved = event.timeStamp; }, true);
    addEventListener("pointerup", () => { window.seen.released = performance.now(); }, true);
    new MutationObserver((changes) => {
        const drawn = changes.some(({ addedNodes }) => [...addedNodes].some((one) => one.matches?.(".pulled-flap")));
        if (drawn) window.seen.preview.push(performance.now() - window.seen.moved);
    }).observe(document.querySelector(".bench-mat"), { subtree: true, childList: true });
    document.addEventListener("htmx:afterOnLoad", () => {
        if (window.seen.released) window.seen.full.push(performance.now() - window.seen.released);
    });
}"""


def p95(values: list[float]) -> float:
    return quantiles(values, n=20)[-1]


def told(values: list[float]) -> str:
    return f"median {median(values):6.1f} ms, p95 {p95(values):6.1f} ms, n {len(values)}"


def loop() -> float:
    """What a loop of pure Python takes just now, in ms of CPU."""
    start = time.process_time()
    sum(i * i for i in range(500_000))
    return 1000 * (time.process_time() - start)


def compose(page: Page) -> None:
    """Three folds and two punches at the workbench."""
    page.goto("/bank/new/")
    for kind, values in (("fold-2", FOLD), ("punch-1", PUNCH)):
        page.get_by_role("button", name=f"+ {kind.split('-')[0].capitalize()}").click()
        page.locator(f"[data-hand={kind}]").wait_for()
        for name in ("place", "shape"):
            if name in values:
                page.locator(f"[name='{kind}-{name}'][value='{values[name]}']").check(force=True)
    for name, value in (("punch-0-at", "7/12, 19/24"), ("punch-0-size", "1/9"), ("punch-1-at", PUNCH["at"])):
        page.locator(f"[name='{name}']").evaluate("(field, value) => { field.value = value }", value)
    page.locator("[name='punch-1-size']").evaluate("(field) => { field.value = '1/9' }")
    page.locator("[data-step=fold-2]").click()
    page.locator("[name='punch-0-at']").dispatch_event("input")
    page.wait_for_timeout(1500)
    expect(page.locator("#options svg")).not_to_have_count(0)


def places() -> list[tuple[float, float]]:
    """Where the corner lands, each place once: by twenty-fourths of the sheet."""
    return [(x / 24, y / 24) for x in range(15, 20) for y in range(15, 20)]


def drag(page: Page, place: tuple[float, float]) -> None:
    """Bring the upper right corner of the folded paper to a place inside it, and wait for the whole answer."""
    box = page.locator(".mat-step.is-chosen > svg").bounding_box()
    assert box

    def at(x: float, y: float) -> tuple[float, float]:
        return box["x"] + box["width"] * (600 + 8400 * x) / 9600, box["y"] + box["height"] * (9000 - 8400 * y) / 9600

    answers = page.evaluate("window.seen.full.length")
    page.mouse.move(*at(0.99, 0.99))
    page.mouse.down()
    page.mouse.move(*at(*place), steps=20)
    page.mouse.up()
    for _ in range(400):
        if page.evaluate("window.seen.full.length") > answers:
            return
        page.wait_for_timeout(10)
    sys.exit("No answer came.")


def in_the_browser(address: str, school: dict) -> None:
    site = type("Here", (), {"address": address, "school": school})
    with sync_playwright() as playwright:
        flags = ["--no-sandbox", "--disable-gpu"]
        chromium = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=flags)
        page = chromium.new_context(base_url=address, viewport={"width": 1280, "height": 800}).new_page()
        page.set_default_timeout(60_000)
        sign_in_adult(page, site, "teacher")
        compose(page)
        page.evaluate(WATCH)
        for place in places():
            drag(page, place)
        seen = page.evaluate("window.seen")
        asked = page.evaluate(
            """() => performance.getEntriesByType("resource").filter(({ name }) => name.endsWith("/bank/preview/"))
                .map(({ requestStart, responseEnd }) => responseEnd - requestStart)"""
        )
        chromium.close()
    print(f"pointer to preview (a frame is 16.7):  {told(seen['preview'])}")
    print(f"release to the full answer:            {told(seen['full'])}")
    print(f"of it from asking to the last byte:    {told(asked[-len(seen['full']) :])}")


def cpu(ask: Callable[[dict[str, str]], object], asked: list[dict[str, str]]) -> list[float]:
    ask(asked[0])
    times = []
    for one in asked:
        start = time.process_time()
        ask(one)
        times.append(1000 * (time.process_time() - start))
    return times


def view(teacher: str) -> None:
    """The view of a preview against itself without geometry, in CPU time."""
    from django.test import Client

    from accounts.models import User
    from tests.bank.factories import typed_halves

    client = Client()
    client.force_login(User.objects.get(email=teacher))
    typed = typed_halves(folds="3", punches="2", punch__0__at="7/12, 19/24", punch__0__size="1/9")
    typed |= {f"punch-1-{name}": value for name, value in PUNCH.items()}
    typed |= {"fold-2-how": "bring", "fold-2-bring": "1, 1", "fold-2-way": "over", "fold-2-layers": "all"}
    asked = [typed | {"fold-2-to": f"{x:.6f}, {y:.6f}"} for x, y in places()]
    whole = cpu(lambda one: client.post("/bank/preview/", one), asked)
    floor = cpu(lambda one: client.post("/bank/preview/", one | {"punch-0-at": "nowhere"}), asked)
    print(f"view in CPU time:                      {told(whole)}")
    print(f"the same without geometry:             {told(floor)}; {median(whole) / median(floor):.1f} times")


def main() -> None:
    with TemporaryDirectory() as folder:
        static = Path(folder) / "static"
        environment = {"PATH": os.environ["PATH"], "SECRET_KEY": "x" * 40, "STATIC_ROOT": str(static)}
        run(environment, "manage.py", "collectstatic", "--noinput", "--verbosity", "0")
        with running_site("sqlite", Path(folder), static) as site:
            print(f"load {os.getloadavg()[0]:.1f}; a loop of half a million squares: {loop():.0f} ms of CPU")
            in_the_browser(site.address, site.school)
            os.environ.update(site.environment, LOG_LEVEL="ERROR")  # the floor is refused each time: no news
            from django.conf import settings

            import config.wsgi  # noqa: F401  (set up as a server's process is)

            settings.ALLOWED_HOSTS.append("testserver")
            view(site.school["emails"]["teacher"])
            print(f"load {os.getloadavg()[0]:.1f}; a loop of half a million squares: {loop():.0f} ms of CPU")


if __name__ == "__main__":
    main()
