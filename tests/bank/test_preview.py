"""The preview: only what changes on the page; at a fault the sentence alone, so that the last good pictures stay."""

from __future__ import annotations

from lxml import html

from accounts.models import School, User
from tests.bank.factories import DIAGONAL, make_question, options_of, typed_halves
from tests.bank.pages import parse, typed_in


def preview(client_of, teacher: User, typed: dict[str, str]):
    response = client_of(teacher).post("/bank/preview/", typed)
    pieces = html.fragments_fromstring(f"<div>{response.content.decode()}</div>")[0]
    return response, {piece.get("id"): piece for piece in pieces.xpath("./*[@id]")}


def test_it_answers_with_the_pieces_to_swap(client_of, teacher: User) -> None:
    response, pieces = preview(client_of, teacher, typed_halves())
    assert response.status_code == 200
    pictures = [f"step-picture-{n}" for n in range(3)]
    assert {*pictures, "mat-view", "answer", "says-fold-0", "says-punch-0"} <= set(pieces)
    heard = pieces.pop("bench-heard")  # a place that is listened to stays, and what it says changes
    assert heard.get("hx-swap-oob") == "innerHTML"
    assert heard.text_content().strip() == "Unfolded: 4 holes."
    assert all(piece.get("hx-swap-oob") == "true" for piece in pieces.values())
    assert not any(piece.tag == "input" for piece in pieces.values())


def test_options_and_checks_come_with_the_paper(client_of, teacher: User) -> None:
    _, pieces = preview(client_of, teacher, typed_halves())
    assert len(pieces["options"].xpath(".//li")) == 5
    assert len(pieces["findings"].xpath(".//li[not(parent::ul[@class='reasons'])]")) == 7  # checks, and repeats


def test_every_piece_has_its_place_on_the_page(client_of, teacher: User) -> None:
    page = parse(client_of(teacher).get("/bank/new/"))
    _, pieces = preview(client_of, teacher, typed_halves())
    assert pieces
    assert set(pieces) <= set(page.xpath("//@id"))


def test_at_a_fold_in_fault_it_says_so_and_leaves_the_pictures(client_of, teacher: User) -> None:
    response, pieces = preview(client_of, teacher, typed_halves(fold__1__depth="slant"))
    assert response.status_code == 422
    assert "45°" in pieces["says-fold-1"].text_content()
    assert pieces["says-fold-0"].text_content() == ""
    assert not {"mat-view", "answer", "options", "findings"} & set(pieces)
    assert "45°" in pieces["bench-heard"].text_content()


def test_a_punch_in_fault_leaves_the_folds_to_be_seen_and_no_stale_options(client_of, teacher: User) -> None:
    response, pieces = preview(client_of, teacher, typed_halves(punch__0__at="1/8, 1/8"))
    assert response.status_code == 422
    assert "Punch 1 does not touch the folded paper." in pieces["says-punch-0"].text_content()
    assert len(pieces["mat-view"].xpath(".//svg")) == 3
    assert not pieces["answer"].xpath(".//svg")
    assert not pieces["options"].xpath(".//li")
    assert not pieces["findings"].xpath(".//li")


def test_paper_without_options_shows_and_says_why(client_of, teacher: User) -> None:
    response, pieces = preview(client_of, teacher, typed_halves(punches="0"))
    assert len(pieces["mat-view"].xpath(".//svg")) == 3
    assert response.status_code == 422
    assert pieces["options"].xpath(".//*[@id='says-options']")[0].text_content().strip()
    assert len(pieces["options"].xpath(".//li//svg")) == 1  # the right answer, and four places to fill
    assert "There is no wrong option yet." in pieces["findings"].text_content()


def test_a_question_being_edited_keeps_its_saved_options(client_of, school: School, teacher: User) -> None:
    question = make_question(school, teacher, spec=DIAGONAL, seed=5)
    typed = typed_in(parse(client_of(teacher).get(f"/bank/{question.pk}/edit/")))
    _, pieces = preview(client_of, teacher, typed)
    (key,) = pieces["options"].xpath(".//li[@class='key']//b")
    assert key.text == options_of(DIAGONAL, 5).key


def test_the_question_of_another_school_is_not_there(client_of, school: School, stranger: User) -> None:
    question = make_question(school)
    assert client_of(stranger).post("/bank/preview/", typed_halves(question=str(question.pk))).status_code == 404


def test_nothing_is_written(client_of, teacher: User, django_assert_max_num_queries) -> None:
    client = client_of(teacher)
    client.get("/bank/new/")
    with django_assert_max_num_queries(3) as asked:
        client.post("/bank/preview/", typed_halves())
    assert not [query for query in asked.captured_queries if not query["sql"].startswith("SELECT")]
