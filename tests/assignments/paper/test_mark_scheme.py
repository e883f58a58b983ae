"""The mark scheme, and the papers it belongs to."""

from __future__ import annotations

import re

import pytest

from assignments.paper.booklet import Heading, booklet_data
from assignments.paper.editions import Edition
from assignments.paper.mark_scheme import make_mark_scheme
from assignments.paper.shuffles import MOST_PAPERS, arrange
from bank.display import option_facts
from tests.assignments.paper.material import texts, versions

HEADING = Heading("Thursday set", "Tarnlow School", 600, "6 Larch", papers=MOST_PAPERS)


@pytest.mark.parametrize("paper", range(1, MOST_PAPERS + 1))
def test_the_key_agrees_with_what_is_printed_in_the_booklet_of_the_same_number(paper):
    """The picture under the letter that the mark scheme gives is the sheet unfolded, by its drawing."""
    questions = arrange(1, paper, versions(6))
    scheme = "\n".join(texts(make_mark_scheme(HEADING, paper, questions, {}, Edition())))
    told = {int(number): letter for number, letter in re.findall(r"Question (\d+): ([A-E])", scheme)}
    data = booklet_data(HEADING, paper, questions, Edition())
    blocks = [block for page in data["pages"] for block in page]
    assert len(told) == len(blocks) == 6
    for question, block in zip(questions, blocks, strict=True):
        printed = {one["letter"]: one["svg"] for row in block["options"] for one in row}
        right = booklet_data(HEADING, 1, [question._replace(order="ABCDE")], Edition())
        own = {one["letter"]: one["svg"] for row in right["pages"][0][0]["options"] for one in row}
        assert printed[told[block["number"]]] == own[question.version.key]


def test_papers_differ_in_the_order_of_questions_and_options_but_hold_the_same():
    papers = [arrange(1, paper, versions(6)) for paper in range(1, MOST_PAPERS + 1)]
    assert [question.version.pk for question in papers[0]] == [1, 2, 3, 4, 5, 6]
    assert {question.order for question in papers[0]} == {"ABCDE"}
    assert len({tuple(question.version.pk for question in paper) for paper in papers}) == MOST_PAPERS
    for paper in papers:
        assert sorted(question.version.pk for question in paper) == [1, 2, 3, 4, 5, 6]
        assert all(sorted(question.order) == list("ABCDE") for question in paper)
        assert [question.number for question in paper] == [1, 2, 3, 4, 5, 6]


def test_a_paper_comes_out_the_same_whenever_it_is_printed_and_a_new_question_moves_none():
    before = [question.version.pk for question in arrange(1, 2, versions(6))]
    assert before == [question.version.pk for question in arrange(1, 2, versions(6))]
    after = [question.version.pk for question in arrange(1, 2, versions(7))]
    assert [pk for pk in after if pk != 7] == before
    orders = {q.version.pk: q.order for q in arrange(1, 2, versions(6))}
    assert orders == {q.version.pk: q.order for q in arrange(1, 2, versions(7)) if q.version.pk != 7}


def test_the_papers_of_this_set_are_these():
    """Worked out once and kept, so that a paper printed last year can still be marked."""
    found = [(question.version.pk, question.order) for question in arrange(1, 2, versions(6))]
    assert found == [(1, "ACDEB"), (2, "EBADC"), (3, "DBECA"), (5, "DECBA"), (4, "CBEAD"), (6, "DBAEC")]


def test_the_keys_of_shuffled_papers_fall_on_all_letters():
    keys = [question.key for paper in range(2, MOST_PAPERS + 1) for question in arrange(9, paper, versions(40))]
    assert {letter: keys.count(letter) > 10 for letter in "ABCDE"} == dict.fromkeys("ABCDE", True)


def test_three_questions_fill_a_page_and_none_is_cut():
    """The first page bears the key too."""
    pages = texts(make_mark_scheme(HEADING, 1, arrange(1, 1, versions(9)), {}, Edition()))
    asked = [re.findall(r"Question (\d+):", page) for page in pages]
    assert asked == [["1", "2"], ["3", "4", "5"], ["6", "7", "8"], ["9"]]
    for numbers, page in zip(asked, pages, strict=True):
        assert len(re.findall(r"The\s+key", page)) == len(numbers)


def test_it_tells_the_mistake_behind_each_option_the_tags_and_the_difficulty():
    questions = arrange(1, 3, versions(3))
    scheme = " ".join(" ".join(texts(make_mark_scheme(HEADING, 3, questions, {1: ["rising"]}, Edition()))).split())
    assert "rising" in scheme
    assert scheme.count("difficulty 2 of 5") == 3
    assert scheme.count("The key") == 3
    for question in questions:
        for letter in "ABCDE":
            for mistake in option_facts(question.version, letter)["mistakes"]:
                assert mistake["says"] in scheme
