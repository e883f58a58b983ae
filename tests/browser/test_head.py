"""The head of department's journey: find a class's results and take them away as CSV, read back here."""

from __future__ import annotations

import csv
import io
from datetime import datetime

from playwright.sync_api import Page, expect

from tests.browser.people import on_each, sign_in_adult
from tests.sites import Site


def download(page: Page, name: str, path) -> bytes:
    with page.expect_download() as started:
        page.get_by_role("button", name=name).click()
    started.value.save_as(path)
    return path.read_bytes()


def rows_of(data: bytes) -> list[dict[str, str]]:
    """Read as RFC 4180 says: CRLF between records, a header, UTF-8."""
    text = data.decode("utf-8-sig")
    assert text.count("\r\n") == text.count("\n")
    return list(csv.DictReader(io.StringIO(text, newline="")))


@on_each
def test_the_head_takes_a_class_s_answers_and_sittings_away(new_device, site: Site, tmp_path):
    page = new_device()
    sign_in_adult(page, site, "head")
    page.get_by_role("link", name="Results").click()
    page.get_by_label("Class").select_option(label="6 Wren")
    page.get_by_role("button", name="Show").click()
    expect(page.get_by_role("link", name="Warm-up").first).to_be_visible()

    answers = [r for r in rows_of(download(page, "Answers", tmp_path / "answers.csv")) if closed(r, site)]
    assert len(answers) == 12  # two pupils, six questions
    assert {row["pupil"] for row in answers} == {"Mina", "Ola"}
    right = [row for row in answers if row["outcome"] == "right"]
    assert len(right) == 6  # the odd places; see the small school
    assert all(datetime.fromisoformat(row["chosen_at"]).tzinfo for row in answers)

    sittings = [r for r in rows_of(download(page, "Sittings", tmp_path / "sittings.csv")) if closed(r, site)]
    assert [(row["pupil"], row["right"]) for row in sorted(sittings, key=lambda r: r["pupil"])] == [
        ("Mina", "3"),
        ("Ola", "3"),
    ]


def closed(row: dict[str, str], site: Site) -> bool:
    return row["assignment"] == str(site.school["closed"])
