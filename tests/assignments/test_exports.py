"""CSV files: what is in them, for whom, and that any reader reads them and no spreadsheet runs them.

Held against RFC 4180 (October 2005) by a reader written from its section 2, against the csv module of the standard
library, and against the command-line shell of SQLite where there is one.
"""

from __future__ import annotations

import csv
import io
import shutil
import subprocess
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from accounts.models import SchoolClass, User
from assignments.exports import ANSWER_COLUMNS, SITTING_COLUMNS, csv_lines, iso, safe_cell
from assignments.models import Assignment
from assignments.moments import Moment
from assignments.services.timing import end_one
from tests.assignments.factories import NOON, choose, make_assignment, make_sitting
from tests.factories import enrol, make_pupil

pytestmark = pytest.mark.each_database

LONDON = ZoneInfo("Europe/London")

# The first characters named by OWASP's page "CSV Injection" (owasp.org/www-community/attacks/CSV_Injection), with
# the NUL of ASVS 5.0.0, 1.2.10. The cells are our own.
RISKY = [
    "=1+1",
    "+44 20",
    "-1",
    "@name",
    "\t=1+1",
    "\r=1+1",
    "\n=1+1",
    "\0=1+1",
    "＝1+1",
    "＋1",
    "－1",
    "＠x",
    "  =1+1",
]
HARMLESS = ["O'Brien", "Anne-Marie", "a=b", "Łucja", "", "6 Larch", "e@school.example"]
# A list separator other than the comma opens a new cell inside ours.
OPENING_A_CELL = ['Ann";=1+1', "Ann;=1+1", "Ann, -1", "Ann\t@x", "Ann|+1"]


def read_rfc4180(text: str) -> list[list[str]]:
    """Read a file as the grammar of RFC 4180, section 2, has it, and refuse what the grammar does not."""
    rows: list[list[str]] = [[]]
    place = 0
    while place < len(text):
        if text[place] == '"':
            cell, place = _escaped(text, place + 1)
        else:
            end = min(text.find(sign, place) % (len(text) + 1) for sign in (",", "\r\n"))
            cell, place = text[place:end], end
            assert not set(cell) & set('"\r\n'), f"a bare cell holds {cell!r}"
        rows[-1].append(cell)
        if text.startswith("\r\n", place):
            place += 2
            rows.append([])
        else:
            assert text[place] == ",", f"neither comma nor end of line at {place}"
            place += 1
    assert rows.pop() == []
    return rows


def _escaped(text: str, place: int) -> tuple[str, int]:
    cell = ""
    while True:
        end = text.index('"', place)
        cell += text[place:end]
        if not text.startswith('""', end):
            return cell, end + 1
        cell, place = cell + '"', end + 2


class TestCells:
    @pytest.mark.parametrize("cell", RISKY)
    def test_what_a_spreadsheet_could_run_begins_with_an_apostrophe(self, cell: str) -> None:
        assert safe_cell(cell).lstrip(" ").startswith("'")
        assert safe_cell(cell).replace("'", "") == cell

    @pytest.mark.parametrize("cell", OPENING_A_CELL)
    def test_nor_can_a_cell_be_opened_inside_another(self, cell: str) -> None:
        for sign in ";,\t|":
            for part in safe_cell(cell).split(sign):
                assert not part.lstrip(' "').startswith(("=", "+", "-", "@")), part

    @pytest.mark.parametrize("cell", HARMLESS)
    def test_everything_else_is_left_alone(self, cell: str) -> None:
        assert safe_cell(cell) == cell

    @pytest.mark.parametrize("figure", [-1, -0.5, 0, 12])
    def test_figures_of_ours_are_left_alone(self, figure: float) -> None:
        assert safe_cell(figure) is figure
        assert "".join(csv_lines(["a"], [[figure]])) == f'"a"\r\n{figure}\r\n'

    def test_times_are_iso_8601_with_the_offset_of_their_day(self) -> None:
        assert iso(datetime(2026, 3, 29, 0, 59, 59, 900_000, UTC), LONDON) == "2026-03-29T00:59:59+00:00"
        assert iso(datetime(2026, 3, 29, 1, 0, tzinfo=UTC), LONDON) == "2026-03-29T02:00:00+01:00"
        assert iso(datetime(2026, 10, 25, 0, 30, tzinfo=UTC), LONDON) == "2026-10-25T01:30:00+01:00"
        assert iso(datetime(2026, 10, 25, 1, 30, tzinfo=UTC), LONDON) == "2026-10-25T01:30:00+00:00"
        assert iso(None, LONDON) == ""


text = st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=12)


@given(st.lists(st.lists(st.one_of(text, st.sampled_from(RISKY[:7] + OPENING_A_CELL)), min_size=3, max_size=3)))
def test_two_readers_read_back_what_was_written(rows: list[list[str]]) -> None:
    written = "".join(csv_lines(["a", "b", "c"], rows))
    expected = [["a", "b", "c"], *([safe_cell(cell) for cell in row] for row in rows)]
    assert read_rfc4180(written) == expected
    assert list(csv.reader(io.StringIO(written, newline=""), strict=True)) == expected


@pytest.mark.skipif(shutil.which("sqlite3") is None, reason="there is no sqlite3 shell on this machine")
def test_the_shell_of_sqlite_reads_it_too() -> None:
    rows = [["6 Larch", 'Ann "A"', "two\nlines"], ["=1+1", "Łucja", "a,b"]]
    written = "".join(csv_lines(["a", "b", "c"], rows))
    command = ["sqlite3", "-batch", "-cmd", ".mode csv", "-cmd", ".import /dev/stdin t", ":memory:"]
    query = "SELECT count(*) || '~' || group_concat(a || '~' || b || '~' || c, '~') FROM t"
    done = subprocess.run([*command, query], input=written, capture_output=True, text=True, check=True)
    expected = '2~6 Larch~Ann "A"~two\nlines~\'=1+1~Łucja~a,b'
    assert next(csv.reader(io.StringIO(done.stdout, newline=""))) == [expected]


def test_lines_are_made_one_at_a_time() -> None:
    made = []

    def rows():
        for number in range(3):
            made.append(number)
            yield [number]

    lines = csv_lines(["n"], rows())
    assert next(lines) == '"n"\r\n'
    assert made == []
    assert next(lines) == "0\r\n"
    assert made == [0]


@pytest.mark.django_db
class TestFiles:
    @pytest.fixture
    def assignment(self, school_class: SchoolClass, pupil: User) -> Assignment:
        assignment = make_assignment(school_class)
        finished = NOON + timedelta(seconds=50)
        sitting = make_sitting(assignment, pupil, choices="CB", finished_at=finished)  # right, wrong, left out
        choose(sitting, 3, "E", seq=9, at=NOON + timedelta(seconds=200), is_late=True)
        return assignment

    def read(self, client, name: str, **query: object) -> list[dict[str, str]]:
        response = client.get(reverse(f"assignments:{name}"), query)
        assert response.status_code == 200
        header, *rows = read_rfc4180(response.getvalue().decode())
        return [dict(zip(header, row, strict=True)) for row in rows]

    def test_one_row_for_every_answer(self, client_of, teacher: User, assignment: Assignment, pupil: User) -> None:
        rows = self.read(client_of(teacher), "export_answers")
        first, second, third = rows
        assert list(first) == list(ANSWER_COLUMNS)
        assert first | {"question": "", "seconds": ""} == {
            "class": "6 Larch",
            "set": "Thursday set",
            "assignment": str(assignment.pk),
            "pupil_id": str(pupil.pk),
            "pupil": "Fenna",
            "position": "1",
            "place": "1",
            "question": "",
            "version": "1",
            "outcome": "right",
            "choice": "C",
            "letter": "C",
            "key": "C",
            "mistakes": "",
            "first_wrong_fold": "",
            "late_choice": "",
            "changes": "0",
            "flagged": "0",
            "seconds": "",
            "chosen_at": "2026-05-14T13:00:10+01:00",
            "accepts": "C",
            "on_paper": "0",
            "struck": "",
            "paper": "1",
        }
        assert float(first["seconds"]) == 10
        assert (second["outcome"], second["mistakes"], second["first_wrong_fold"]) == ("wrong", "slid", "1")
        assert (third["outcome"], third["choice"], third["late_choice"]) == ("unanswered", "", "E")

    def test_one_row_for_every_sitting(self, client_of, teacher: User, assignment: Assignment) -> None:
        (row,) = self.read(client_of(teacher), "export_sittings")
        assert list(row) == list(SITTING_COLUMNS)
        assert row["started_at"] == "2026-05-14T13:00:00+01:00"
        assert row["deadline"] == "2026-05-14T13:01:30+01:00"
        assert (row["ended_at"], row["ended_by"]) == ("2026-05-14T13:00:50+01:00", "pupil")
        assert [row[name] for name in ("questions", "right", "wrong", "unanswered", "late")] == list("31111")
        assert [row[name] for name in ("dropped", "corrected", "on_paper")] == ["0", "0.75", "0"]

    def test_it_is_told_who_ended_a_sitting(
        self, client_of, teacher: User, school_class: SchoolClass, pupil: User
    ) -> None:
        sittings = [make_sitting(make_assignment(school_class), pupil) for _ in range(2)]
        end_one(sitting=sittings[1], note="", by=teacher, at=NOON + timedelta(seconds=40))
        client = client_of(teacher)
        rows = {row["assignment"]: row["ended_by"] for row in self.read(client, "export_sittings")}
        shown = [
            client.get(reverse("assignments:result_pupil", args=[s.assignment_id, pupil.pk])).content.decode()
            for s in sittings
        ]
        assert [rows[str(sitting.assignment_id)] for sitting in sittings] == ["time", "teacher"]
        assert ["ended by the teacher" in page for page in shown] == [False, True]

    def test_names_may_be_left_out_and_rows_still_belong_together(
        self, client_of, teacher: User, assignment: Assignment, pupil: User
    ) -> None:
        rows = self.read(client_of(teacher), "export_answers", without_names="on")
        assert {row["pupil"] for row in rows} == {""}
        assert {row["pupil_id"] for row in rows} == {str(pupil.pk)}

    def test_a_pupils_name_cannot_be_a_formula(
        self, client_of, teacher: User, assignment: Assignment, school_class: SchoolClass
    ) -> None:
        pupil = make_pupil(school_class.school, '=HYPERLINK("//x","y")')
        enrol(pupil, school_class)
        make_sitting(assignment, pupil)
        names = {row["pupil"] for row in self.read(client_of(teacher), "export_sittings")}
        assert names == {"Fenna", '\'=HYPERLINK("//x","y")'}

    def test_filters_by_class_set_and_day(
        self, client_of, head: User, assignment: Assignment, other_class: SchoolClass, other_pupil: User
    ) -> None:
        other = make_assignment(other_class, title="Friday set", opens_at=NOON + timedelta(days=30))
        make_sitting(other, other_pupil, started_at=other.opens_at)
        client = client_of(head)

        def sets(**query: object) -> set[str]:
            return {row["set"] for row in self.read(client, "export_sittings", **query)}

        assert sets() == {"Thursday set", "Friday set"}
        assert sets(school_class=other_class.pk) == {"Friday set"}
        assert sets(question_set=assignment.question_set_id) == {"Thursday set"}
        assert sets(assignment=other.pk) == {"Friday set"}
        assert sets(since="2026-05-16") == {"Friday set"}  # the other closed on the 15th
        assert sets(until="2026-05-14") == {"Thursday set"}
        assert sets(since="2026-05-15", until="2026-05-15") == {"Thursday set"}

    def test_a_day_begins_at_midnight_on_the_schools_wall(
        self, client_of, teacher: User, school_class: SchoolClass, pupil: User
    ) -> None:
        """It closes at 23:30 in UTC on the 14th, which in London's summer is half past midnight on the 15th."""
        closes = datetime(2026, 5, 14, 23, 30, tzinfo=UTC)
        make_sitting(make_assignment(school_class, closes_at=closes), pupil)
        assert len(self.read(client_of(teacher), "export_sittings", since="2026-05-15")) == 1

    @pytest.mark.parametrize(
        ("who", "sees"), [("teacher", 1), ("other_teacher", 0), ("head", 1), ("administrator", 1), ("stranger", 0)]
    )
    def test_who_sees_what(self, request, client_of, assignment: Assignment, who: str, sees: int) -> None:
        assert len(self.read(client_of(request.getfixturevalue(who)), "export_sittings")) == sees

    def test_another_teachers_class_cannot_be_asked_for(
        self, client_of, other_teacher: User, assignment: Assignment
    ) -> None:
        client = client_of(other_teacher)
        assert self.read(client, "export_answers", assignment=assignment.pk) == []
        asked = {"school_class": assignment.school_class_id}
        assert client.get(reverse("assignments:export_answers"), asked).status_code == 400

    @pytest.mark.parametrize(
        "query",
        [
            {"since": "yesterday"},
            {"until": "9999-12-31"},
            {"since": "2026-05-15", "until": "2026-05-14"},
            {"school_class": "x"},
            {"question_set": "99999999999999999999"},
            {"assignment": "-1"},
        ],
        ids=str,
    )
    @pytest.mark.parametrize("name", ["results", "export_answers", "export_sittings"])
    def test_filters_that_mean_nothing_are_answered_in_words(
        self, client_of, teacher: User, assignment: Assignment, name: str, query: dict
    ) -> None:
        response = client_of(teacher).get(reverse(f"assignments:{name}"), query)
        assert response.status_code == 400
        assert response["Content-Type"].startswith("text/html")
        page = response.content.decode()
        assert 'class="error"' in page or 'class="message error"' in page
        assert all(f'value="{typed}"' in page for name, typed in query.items() if name in ("since", "until"))

    def test_the_headers_say_what_it_is_and_what_to_call_it(
        self, client_of, teacher: User, assignment: Assignment
    ) -> None:
        """RFC 4180, section 3, has the parameters; RFC 6266 the name, RFC 8187 its letters beyond ASCII."""
        school_class = assignment.school_class
        school_class.name = 'Łąka "6"'
        school_class.save()
        response = client_of(teacher).get(reverse("assignments:export_answers"), {"school_class": school_class.pk})
        assert response["Content-Type"] == "text/csv; charset=utf-8; header=present"
        named = response["Content-Disposition"]
        assert named.startswith("attachment; filename*=utf-8''answers%20%C5%81%C4%85ka%20%226%22%20")
        assert named.endswith(".csv")
        assert "no-store" in response["Cache-Control"]

    def test_a_file_without_names_is_called_so(self, client_of, teacher: User) -> None:
        """Both lie in one folder afterwards, and one of them may be handed on."""
        for what, named in (("answers", "answers without names 20"), ("items", "items 20")):
            response = client_of(teacher).get(reverse(f"assignments:export_{what}"), {"without_names": "on"})
            assert named in response["Content-Disposition"]

    def test_moments_read_fast_are_those_that_django_reads(self, assignment: Assignment) -> None:
        sitting = assignment.sittings.get()
        for seq, fraction in enumerate((1, 120_000, 999_999), 20):
            choose(sitting, 1, "A", seq=seq, at=NOON + timedelta(microseconds=fraction))
        pairs = list(sitting.events.values_list("received_at", Moment("received_at")))
        assert [fast for _, fast in pairs] == [slow for slow, _ in pairs]
        assert {fast.utcoffset() for _, fast in pairs} == {timedelta(0)}

    def test_it_is_streamed_with_no_more_queries_for_a_bigger_class(
        self, client_of, teacher: User, assignment: Assignment, school_class: SchoolClass, django_assert_num_queries
    ) -> None:
        client = client_of(teacher)
        for _ in range(2):
            with django_assert_num_queries(8):  # session and person, assignments twice, the trail, then three
                response = client.get(reverse("assignments:export_answers"))
                assert response.streaming
                response.getvalue()
            for _ in range(6):
                make_sitting(assignment, make_pupil(school_class.school), choices="ABE")

    def test_the_columns_are_explained(self, client_of, teacher: User) -> None:
        page = client_of(teacher).get(reverse("assignments:export_columns")).content.decode()
        for name, says in (ANSWER_COLUMNS | SITTING_COLUMNS).items():
            assert f"<code>{name}</code>" in page
            assert says in page
        assert "Practice scores are not a standardised measure of ability." in page
