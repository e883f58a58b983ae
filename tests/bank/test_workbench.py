"""The workbench's pages: composing without a script, what is said beside a fault, saving, nothing lost."""

from __future__ import annotations

import pytest

from accounts.models import School, User
from bank.models import Question
from tests.bank.factories import CROWDED, DIAGONAL, make_question, options_of, typed_halves
from tests.bank.pages import parse, said, typed_in, words


def post(client_of, teacher: User, address: str = "/bank/new/", **changes: str):
    return client_of(teacher).post(address, typed_halves(**changes))


def test_a_new_sheet_shows_a_whole_question(client_of, teacher: User) -> None:
    page = parse(client_of(teacher).get("/bank/new/"))
    assert words(page, "//h1") == ["New question"]
    assert len(page.xpath("//*[@data-mat]//svg")) == 3
    assert words(page, "//figure[@id='answer']/figcaption") == ["Unfolded, 4 holes"]
    assert words(page, "//b[@class='option-letter']") == list("ABCDE")
    assert words(page, "//li[@class='key']//p[contains(@class, 'right')]") == ["The right answer"]
    assert len(page.xpath("//section[@id='findings']//ul[@class='check-list']/li")) == 7


def test_what_the_page_shows_posts_back_as_it_stands(client_of, teacher: User) -> None:
    typed = typed_in(parse(client_of(teacher).get("/bank/new/")))
    again = typed_in(parse(client_of(teacher).post("/bank/new/", typed | {"do": "show"})))
    del typed["csrfmiddlewaretoken"], again["csrfmiddlewaretoken"]
    assert again == typed


def test_show_folds_what_is_typed(client_of, teacher: User) -> None:
    response = post(client_of, teacher, do="show", fold__1__place="top-right", fold__1__depth="slant")
    page = parse(response)
    assert response.status_code == 200
    assert typed_in(page)["fold-1-depth"] == "slant"
    assert len(words(page, "//b[@class='option-letter']")) == 5


@pytest.mark.parametrize(
    ("deed", "folds", "punches"),
    [
        ("add-fold", "3", "1"),
        ("insert-fold-0", "3", "1"),
        ("before-fold-0", "3", "1"),
        ("remove-fold-1", "1", "1"),
        ("add-punch", "2", "2"),
        ("remove-punch-0", "2", "0"),
    ],
)
def test_rows_change_by_buttons(client_of, teacher: User, deed: str, folds: str, punches: str) -> None:
    typed = typed_in(parse(post(client_of, teacher, do=deed, tags="thirds", note="Kept")))
    assert (typed["folds"], typed["punches"]) == (folds, punches)
    assert (typed["tags"], typed["note"]) == ("thirds", "Kept")


def test_a_fold_put_before_the_others_is_the_first_and_they_are_folded_after_it(client_of, teacher: User) -> None:
    page = parse(post(client_of, teacher, do="before-fold-0"))
    typed = typed_in(page)
    assert [typed[f"fold-{n}-place"] for n in range(3)] == ["left", "left", "bottom"]
    assert typed["step"] == "fold-0"
    assert "left half" in words(page, "//*[@data-mat]//desc")[1]  # half of what the new fold left


def test_a_fold_that_no_longer_fits_after_one_before_it_was_removed_says_so(client_of, teacher: User) -> None:
    """Two layers lie at the right edge once the left half lies on it, and one without that fold."""
    changes = {"fold__1__place": "right", "fold__1__depth": "1/4", "fold__1__layers": "2"}
    assert said(parse(post(client_of, teacher, do="show", **changes)), "says-fold-1") == ""
    page = parse(post(client_of, teacher, do="remove-fold-0", **changes))
    assert "Fold 1 takes 2 layers, but fewer lie" in said(page, "says-fold-0")
    assert "Fold 1 takes 2 layers" in said(page, "mat-says")
    assert typed_in(page)["fold-0-layers"] == "2"


@pytest.mark.parametrize(
    ("changes", "line"),
    [
        # x = 1/8, where no paper is left once the left half lies on the right
        ({"first": "1/8, 0", "second": "1/8, 1", "moves": "0, 1/2", "how": "crease"}, (1, -1 / 8)),
        ({"bring": "0, 1/2", "to": "1/4, 1/2", "how": "bring"}, (1, -1 / 8)),
        ({"bring": "1/4, 1/2", "to": "1/4, 1/2", "how": "bring"}, None),  # two points that are one have no line between
    ],
)
def test_where_a_fold_that_cannot_be_made_would_have_creased_the_paper(client_of, teacher: User, changes, line) -> None:
    page = parse(post(client_of, teacher, do="show", **{f"fold__1__{name}": text for name, text in changes.items()}))
    assert said(page, "says-fold-1") != ""
    (mark,) = page.xpath("//*[@id='refused']")
    if line is None:
        assert "data-line" not in mark.attrib
        return
    a, b, c = map(float, mark.attrib["data-line"].split())
    assert mark.attrib["data-refused"] == "1"
    assert (abs(a), b, c * a) == pytest.approx((line[0], 0, line[1]))


@pytest.mark.parametrize(
    ("changes", "titles"),
    [
        ({"fold__1__how": "bring", "fold__1__bring": "here"}, ["Fold 1", "Folded"]),
        ({"fold__0__how": "crease"}, ["A flat sheet"]),
        ({"punch__0__at": "there"}, ["Fold 1", "Fold 2", "Folded"]),
    ],
)
def test_what_cannot_be_read_leaves_the_folds_before_it_in_sight(client_of, teacher: User, changes, titles) -> None:
    page = parse(post(client_of, teacher, do="show", step="fold-1", **changes))
    assert words(page, "//*[@data-mat]//figcaption") == titles
    assert len(page.xpath("//*[@data-mat]/figure[contains(@class, 'is-chosen')]")) == 1


@pytest.mark.parametrize(
    ("changes", "seen"),
    [
        ({"fold__1__first": "1/4"}, {"fold__1__how": "crease"}),
        ({"sheet__width": "wide"}, {"sheet__kind": "rectangle"}),
        ({"sheet__points": "1"}, {"sheet__kind": "polygon"}),
        ({"punch__0__points": "1"}, {"punch__0__shape": "outline"}),
    ],
)
def test_what_is_wrong_in_a_field_that_is_folded_away_stands_in_nobodys_way(
    client_of, teacher: User, changes, seen
) -> None:
    assert said(parse(post(client_of, teacher, do="show", **changes)), "mat-says") == ""
    assert said(parse(post(client_of, teacher, do="show", **changes, **seen)), "mat-says") != ""


def test_what_nobody_had_time_to_type_is_asked_for_and_half_of_it_is_at_fault(client_of, teacher: User) -> None:
    page = parse(post(client_of, teacher, do="show", fold__1__how="crease"))
    assert said(page, "mat-says").startswith("Type two points of the crease")
    assert not page.xpath("//*[@id='flag-fold-1']/*")
    assert page.xpath("//*[@id='mat-says']/@class") == ["mat-says asks"]
    page = parse(post(client_of, teacher, do="show", fold__1__how="crease", fold__1__first="1/2, 0"))
    assert said(page, "mat-says").startswith("Type two points of the crease")
    assert page.xpath("//*[@id='flag-fold-1']/*")
    assert page.xpath("//*[@id='mat-says']/@class") == ["mat-says"]


@pytest.mark.parametrize(
    ("chosen", "corners", "place", "says"),
    [
        ({"sheet__kind": "polygon"}, "sheet__points", "sheet", "A polygon sheet needs at least three points."),
        (
            {"punch__0__shape": "outline"},
            "punch__0__points",
            "punch-0",
            "Punch 1: the outline needs at least three points.",
        ),
    ],
)
def test_corners_nobody_had_time_to_type_are_asked_for(client_of, teacher: User, chosen, corners, place, says) -> None:
    page = parse(post(client_of, teacher, do="show", **chosen))
    assert said(page, f"says-{place}") == says
    assert page.xpath("//*[@id='mat-says']/@class") == ["mat-says asks"]
    page = parse(post(client_of, teacher, do="show", **chosen, **{corners: "0, 0"}))
    assert page.xpath("//*[@id='mat-says']/@class") == ["mat-says"]


def test_an_outline_that_crosses_itself_is_named_plainly(client_of, teacher: User) -> None:
    bow = {"punch__0__shape": "outline", "punch__0__points": "-1/2, -1/2\n1/2, 1/2\n1/2, -1/2\n-1/2, 1/2"}
    page = parse(post(client_of, teacher, do="show", **bow))
    assert said(page, "says-punch-0") == "Punch 1: the outline crosses or touches itself (edges 1 and 3)."


def test_a_new_punch_lies_on_the_paper_clear_of_the_first(client_of, teacher: User) -> None:
    page = parse(post(client_of, teacher, do="add-punch"))
    assert said(page, "says-punch-1") == ""
    assert words(page, "//figure[@id='answer']/figcaption") == ["Unfolded, 8 holes"]


def test_a_new_punch_goes_through_as_many_layers_as_it_can(client_of, teacher: User) -> None:
    """The right edge of a square, a quarter across, lies on the paper: two layers from x = 1/2 to 3/4, else one."""
    typed = {"folds": "1", "punches": "0", "fold__0__place": "right", "fold__0__depth": "1/4"}
    page = parse(post(client_of, teacher, do="add-punch", **typed))
    assert typed_in(page)["punch-0-at"].startswith("5/8, ")
    assert words(page, "//figure[@id='answer']/figcaption") == ["Unfolded, 2 holes"]


def test_layers_taken_from_the_back_are_not_called_the_top_ones(client_of, teacher: User) -> None:
    page = parse(post(client_of, teacher, do="show", fold__1__way="behind", fold__1__layers="2"))
    offered = words(page, "//select[@name='fold-1-layers']/option")
    assert offered[:3] == ["All layers", "One layer only", "2 layers"]


def test_another_set_of_options_is_another(client_of, teacher: User) -> None:
    first, second = (parse(post(client_of, teacher, do=deed)) for deed in ("show", "other-options"))
    assert typed_in(second)["seed"] == "2"
    assert words(first, "//p[@class='why']") != words(second, "//p[@class='why']")


FAULTS = [
    ({"fold__0__how": "bring"}, "fold-0", "Type the point to bring and where it goes."),
    ({"fold__0__how": "crease"}, "fold-0", "Type two points of the crease, and a point on the side that moves."),
    ({"fold__0__depth": ""}, "fold-0", "Choose the side or corner that is folded, and how far."),
    ({"fold__0__depth": "slant"}, "fold-0", "Fold 1: A crease at 45° starts from a corner: choose a corner"),
    (
        {"fold__1__how": "bring", "fold__1__bring": "1, 1", "fold__1__to": "1, 1"},
        "fold-1",
        "Fold 2 brings a point to where it already is.",
    ),
    (
        {"fold__1__how": "bring", "fold__1__bring": "0, 0", "fold__1__to": "9, 9"},
        "fold-1",
        "fold 2",
    ),
    (
        {"fold__1__how": "bring", "fold__1__bring": "1, y", "fold__1__to": "1, 1"},
        "fold-1",
        "Bring: “y” is no number. Type one like 3/8 or 0.375.",
    ),
    ({"fold__0__layers": "2"}, "fold-0", "Fold 1 takes 2 layers, but fewer lie at the point it is gripped by."),
    ({"fold__0__way": "sideways"}, "fold-0", "What was chosen at “Way” is not offered."),
    ({"punch__0__at": "1/8, 1/8"}, "punch-0", "unch 1"),
    ({"punch__0__at": ""}, "punch-0", "Place: Type two numbers, like 3/8, 3/4."),
    ({"punch__0__size": "0"}, "punch-0", "Punch 1: the size must lie between 1/1000 and 1."),
    ({"punch__0__size": "5"}, "punch-0", "Size: The number must lie between -1 and 1."),
    ({"punch__0__turn": "NaN"}, "punch-0", "Turn: “NaN” is no number."),
    ({"punch__0__shape": "potato"}, "punch-0", "What was chosen at “Shape” is not offered."),
    ({"sheet__kind": "polygon", "sheet__points": "0,0\n1,1"}, "sheet", "A polygon sheet needs at least three points."),
    ({"sheet__kind": "rectangle", "sheet__width": "0"}, "sheet", "The sheet's width must lie between 1/1000 and 10."),
    ({"punches": "0"}, "options", ""),
]


@pytest.mark.parametrize(("changes", "place", "says"), FAULTS)
def test_a_fault_is_said_beside_its_row_and_nothing_typed_is_lost(
    client_of, teacher: User, changes: dict, place: str, says: str
) -> None:
    typed = typed_halves(do="save-ready", tags="kept", note="Kept too", **changes)
    response = client_of(teacher).post("/bank/new/", typed)
    page = parse(response)
    assert response.status_code == 422
    assert says in said(page, f"says-{place}")
    assert said(page, f"says-{place}")
    assert "not saved yet" in " ".join(words(page, "//form[@id='bench']/p[contains(@class, 'error')]"))
    assert not Question.objects.exists()
    again = typed_in(page)
    kept = {name: value for name, value in typed.items() if name in again and name != "do"}
    valid = {name: value for name, value in kept.items() if value not in ("sideways", "potato")}
    assert {name: again[name] for name in valid} == valid


def test_folds_before_the_fault_still_show(client_of, teacher: User) -> None:
    page = parse(post(client_of, teacher, do="show", fold__1__how="bring", fold__1__bring="1,1", fold__1__to="1,1"))
    assert len(page.xpath("//*[@data-mat]//svg")) == 2  # fold 1, and the sheet after it


def test_saving_shows_the_question(client_of, school: School, teacher: User) -> None:
    response = client_of(teacher).post(
        "/bank/new/", typed_halves(do="save-ready", tags="Halves, starter", note="First"), follow=True
    )
    question = Question.objects.get()
    assert response.redirect_chain == [(f"/bank/{question.pk}/", 302)]
    assert 'Question 1 is saved. <a href="/bank/new/">New question</a>' in response.content.decode()
    assert (question.school, question.author, question.state, question.note) == (school, teacher, "ready", "First")
    assert [tag.name for tag in question.tags.all()] == ["halves", "starter"]


def test_a_script_is_sent_on_by_header(client_of, teacher: User) -> None:
    response = client_of(teacher).post("/bank/new/", typed_halves(do="save-draft"), headers={"HX-Request": "true"})
    assert response["HX-Redirect"] == f"/bank/{Question.objects.get().pk}/"


def test_what_fails_a_check_is_kept_as_a_draft_but_not_as_ready(client_of, teacher: User, school: School) -> None:
    question = make_question(school, teacher, spec=CROWDED)
    typed = typed_in(parse(client_of(teacher).get(f"/bank/{question.pk}/edit/")))
    refused = client_of(teacher).post(f"/bank/{question.pk}/edit/", typed | {"do": "save-ready"})
    assert refused.status_code == 422
    assert "cannot be made ready yet. Two holes almost touch in print." in refused.content.decode()
    assert client_of(teacher).post(f"/bank/{question.pk}/edit/", typed | {"do": "save-draft"}).status_code == 302


def test_tags_that_cannot_be_read_are_said_at_their_field(client_of, teacher: User) -> None:
    response = post(client_of, teacher, do="save-draft", tags="x" * 50)
    page = parse(response)
    assert response.status_code == 422
    assert words(page, "//p[@id='id_tags_error']") == [f'A tag has 40 characters at most: "{"x" * 20}…" has 50.']
    assert typed_in(page)["tags"] == "x" * 50


def test_a_note_that_is_too_long_is_told_and_not_cut(client_of, teacher: User) -> None:
    """A browser cuts what is pasted where ``maxlength`` says, without a word."""
    response = post(client_of, teacher, do="save-draft", note="n" * 1000, tags="t, " * 250)
    page = parse(response)
    assert response.status_code == 422
    assert "“Note” may have at most 200 characters; these are 1000. Shorten it." in words(page, "//p[@class='error']")
    assert typed_in(page)["note"] == "n" * 1000
    assert not page.xpath("//form[@id='bench']//*[self::input or self::textarea][@maxlength]")


def test_an_outline_of_as_many_corners_as_there_may_be_can_be_typed(client_of, teacher: User) -> None:
    corners = [(i, -1) for i in range(120)] + [(i, 1) for i in reversed(range(120))]
    typed = "\n".join(f"{2 * i - 119}/{240 + i % 2}, {up * (60 + i % 3)}/{1000 + i}" for i, up in corners)
    assert len(typed) > 4000
    page = parse(post(client_of, teacher, do="show", punch__0__shape="outline", punch__0__points=typed))
    assert said(page, "says-punch-0") == ""


def test_editing_starts_from_the_saved_options_and_makes_the_next_version(
    client_of, school: School, teacher: User
) -> None:
    question = make_question(school, teacher, spec=DIAGONAL, seed=5)
    address = f"/bank/{question.pk}/edit/"
    page = parse(client_of(teacher).get(address))
    key = options_of(DIAGONAL, 5).key
    assert words(page, "//li[@class='key']//b") == [key]
    typed = typed_in(page) | {"do": "save-ready", "punch-0-turn": "90"}
    client_of(teacher).post(address, typed)
    question.refresh_from_db()
    assert (question.current.number, question.state) == (2, "ready")
    assert question.current.spec["punches"][0]["turn"] == 90


def test_saving_unchanged_keeps_the_version(client_of, school: School, teacher: User) -> None:
    question = make_question(school, teacher, spec=DIAGONAL, seed=5)
    address = f"/bank/{question.pk}/edit/"
    typed = typed_in(parse(client_of(teacher).get(address))) | {"do": "save-draft", "note": "New note"}
    client_of(teacher).post(address, typed)
    question.refresh_from_db()
    assert (question.current.number, question.note) == (1, "New note")


def test_hostile_text_stays_text(client_of, teacher: User) -> None:
    hostile = '"><script>alert(1)</script>'
    response = post(client_of, teacher, do="show", note=hostile, tags=hostile, fold__0__bring=hostile, seed=hostile)
    assert "<script>alert" not in response.content.decode()
    assert typed_in(parse(response))["note"] == hostile
