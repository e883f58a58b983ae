"""What a browser prints: by Chromium's own printing, on the paper that the style sheets ask for."""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import pypdfium2
import pytest
from django.urls import reverse

from tests.assignments.factories import make_assignment, make_sitting
from tests.browser.conftest import FLAGS
from tests.factories import make_adult, make_class, make_pupil, make_school

STATIC = Path(__file__).parents[2] / "static"


def printed(html: str, folder: Path) -> pypdfium2.PdfDocument:
    """The page as it comes out of the printer, with the styles that stand in the source."""
    page, paper = folder / "page.html", folder / "paper.pdf"
    page.write_text(html.replace('="/static/', f'="{STATIC.as_uri()}/'))
    chromium = shutil.which("chromium")
    assert chromium, "the tests of the browser need chromium"
    asked = ["--headless", "--no-pdf-header-footer", f"--print-to-pdf={paper}", f"--user-data-dir={folder}/profile"]
    subprocess.run([chromium, *FLAGS, *asked, page.as_uri()], check=True, capture_output=True, timeout=60)
    return pypdfium2.PdfDocument(paper)


@pytest.mark.django_db
def test_a_class_of_thirty_and_forty_questions_is_one_table_on_one_sheet_of_a4(client, tmp_path):
    """A4 lying down is 297 x 210 mm (ISO 216)."""
    school = make_school()
    teacher, pupils = make_adult(school), [make_pupil(school, f"Pupil number {n:02}") for n in range(1, 31)]
    assignment = make_assignment(make_class(school, teachers=(teacher,), pupils=tuple(pupils)), "CAEBD" * 8)
    for n, pupil in enumerate(pupils):
        make_sitting(assignment, pupil, choices="CAABD" * 8 if n < 2 else "")
    client.force_login(teacher)
    page = client.get(reverse("assignments:result", args=[assignment.pk])).content.decode()
    with printed(page, tmp_path) as pdf:
        first = pdf[0]
        assert [round(side / 72 * 25.4) for side in first.get_size()] == [297, 210]
        said = first.get_textpage().get_text_range()
        assert len(pdf) == 2
    assert [f"Pupil number {n:02}" in said for n in range(1, 31)] == [True] * 30
    assert "not answered" in said  # the key below the table is on the sheet as well
