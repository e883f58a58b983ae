"""A year on: pupils of one class are brought into another, moved or enrolled as well."""

from __future__ import annotations

import pytest
from django.urls import reverse
from django.utils import timezone

from accounts.errors import NameTakenError, NotAllowedError
from accounts.models import Enrolment, SchoolClass
from accounts.services.moving import bring_pupils
from accounts.services.sign_in import sign_in_pupil
from tests.accounts.conftest import PIN, give_pin, text_of
from tests.at_once import all_at_once
from tests.factories import enrol, make_class, make_pupil


@pytest.fixture
def new_class(school, teacher) -> SchoolClass:
    return make_class(school, "7 Larch", teachers=(teacher,))


def page(school_class):
    return reverse("accounts:pupils_bring", args=[school_class.pk])


def fields(source, *pupils, how="move"):
    return {"source": source.pk, "pupils": [pupil.pk for pupil in pupils], "how": how}


def names_in(school_class):
    return sorted(school_class.enrolments.values_list("pupil__name", flat=True))


# --- the deed -----------------------------------------------------------------------------------------------------


def test_pupils_move_with_their_pins(school_class, new_class, pupil, teacher):
    give_pin(pupil)
    count = bring_pupils(source=school_class, target=new_class, pupils=[pupil], leave=True, by=teacher)
    assert (count, names_in(school_class), names_in(new_class)) == (1, [], ["Fenna"])
    assert sign_in_pupil(code=new_class.code, name="Fenna", pin=PIN, at=timezone.now()) == pupil


def test_pupils_may_be_in_both(school_class, new_class, pupil, teacher):
    bring_pupils(source=school_class, target=new_class, pupils=[pupil], leave=False, by=teacher)
    assert names_in(school_class) == names_in(new_class) == ["Fenna"]


def test_whoever_is_there_already_stays_and_only_leaves_the_old_class(school_class, new_class, pupil, teacher):
    enrol(pupil, new_class)
    count = bring_pupils(source=school_class, target=new_class, pupils=[pupil], leave=True, by=teacher)
    assert (count, names_in(school_class), names_in(new_class)) == (0, [], ["Fenna"])


def test_a_pupil_of_neither_class_is_not_brought(school_class, new_class, other_pupil, teacher):
    assert bring_pupils(source=school_class, target=new_class, pupils=[other_pupil], leave=True, by=teacher) == 0
    assert names_in(new_class) == []


@pytest.mark.parametrize(
    ("clashing", "sentence"),
    [
        (["fenna"], "has another pupil called Fenna. Add an initial to one of the two names"),
        (["FENNA", "ilse"], "has another pupil called Fenna and Ilse. Add an initial"),
        (["Fenna", "Ilse", "Tove"], "has another pupil called Fenna, Ilse and Tove. Add an initial"),
    ],
)
def test_clashing_names_are_said_and_nobody_moves(school, school_class, new_class, pupil, teacher, clashing, sentence):
    for name in ("Ilse", "Tove", "Bram"):
        enrol(make_pupil(school, name), school_class)
    for name in clashing:
        enrol(make_pupil(school, name), new_class)
    before = names_in(new_class)
    everybody = [place.pupil for place in school_class.enrolments.select_related("pupil")]
    with pytest.raises(NameTakenError, match=sentence):
        bring_pupils(source=school_class, target=new_class, pupils=everybody, leave=True, by=teacher)
    assert names_in(new_class) == before
    assert names_in(school_class) == ["Bram", "Fenna", "Ilse", "Tove"]


@pytest.mark.parametrize("who", ["teacher", "head", "stranger", "pupil"])
def test_only_who_looks_after_both_classes_may(request, school_class, other_class, pupil, who):
    with pytest.raises(NotAllowedError):
        bring_pupils(
            source=school_class, target=other_class, pupils=[pupil], leave=True, by=request.getfixturevalue(who)
        )
    assert names_in(other_class) == []


def test_nor_may_who_looks_after_the_class_they_come_to_alone(school_class, other_class, other_pupil, teacher):
    with pytest.raises(NotAllowedError):
        bring_pupils(source=other_class, target=school_class, pupils=[other_pupil], leave=True, by=teacher)
    assert names_in(other_class) == ["Galen"]


def test_the_administrator_and_a_teacher_of_both_may(school_class, other_class, pupil, teacher, administrator):
    bring_pupils(source=school_class, target=other_class, pupils=[pupil], leave=True, by=administrator)
    other_class.teachers.add(teacher)
    bring_pupils(source=other_class, target=school_class, pupils=[pupil], leave=True, by=teacher)
    assert (names_in(school_class), names_in(other_class)) == (["Fenna"], [])


def test_an_archived_class_takes_nobody_in(school_class, new_class, pupil, teacher):
    new_class.archived_at = timezone.now()
    new_class.save()
    with pytest.raises(NotAllowedError):
        bring_pupils(source=school_class, target=new_class, pupils=[pupil], leave=True, by=teacher)


@pytest.mark.django_db(transaction=True)
def test_sent_twice_at_once_it_happens_once(school_class, new_class, pupil, teacher):
    def bring():
        return bring_pupils(source=school_class, target=new_class, pupils=[pupil], leave=True, by=teacher)

    done = all_at_once(bring, bring)
    assert not [one for one in done if isinstance(one, Exception) and not isinstance(one, NameTakenError)]
    assert Enrolment.objects.filter(pupil=pupil).count() == 1
    assert names_in(new_class) == ["Fenna"]


# --- the page -----------------------------------------------------------------------------------------------------


def test_the_page_asks_from_which_class_first(client_of, teacher, new_class, school_class, other_class):
    answer = client_of(teacher).get(page(new_class))
    assert list(answer.context["choice"].fields["source"].queryset) == [school_class]
    assert "Who comes" not in text_of(answer)


def test_classes_of_last_year_are_offered_too(client_of, teacher, new_class, school_class):
    school_class.archived_at = timezone.now()
    school_class.save()
    assert school_class.name in text_of(client_of(teacher).get(page(new_class)))


def test_with_one_class_alone_the_page_says_so(client_of, teacher, new_class):
    assert "There is no other class that you look after." in text_of(client_of(teacher).get(page(new_class)))


def test_pupils_are_looked_over_before_they_come(client_of, school, teacher, new_class, school_class, pupil):
    both, clashing = make_pupil(school, "Ilse"), make_pupil(school, "Tove")
    for one, place in ((both, school_class), (both, new_class), (clashing, school_class)):
        enrol(one, place)
    enrol(make_pupil(school, "TOVE"), new_class)
    answer = client_of(teacher).get(page(new_class), {"source": school_class.pk})
    words = text_of(answer)
    assert "Ilse in 7 Larch already" in words
    assert "Tove another pupil there has this name" in words
    assert answer.context["chosen"] == {pupil.pk}


def test_the_ticked_come_and_the_page_says_how_many(client_of, school, teacher, new_class, school_class, pupil):
    enrol(make_pupil(school, "Ilse"), school_class)
    answer = client_of(teacher).post(page(new_class), fields(school_class, pupil), follow=True)
    assert "1 pupil has come from 6 Larch. Their PINs stay; the class code is that of 7 Larch." in text_of(answer)
    assert (names_in(school_class), names_in(new_class)) == (["Ilse"], ["Fenna"])


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"pupils": []}, "Choose at least one pupil."),
        ({"pupils": ["999999"]}, "The class has changed since this page was opened."),
        ({"pupils": ["x"]}, "Look the pupils over again."),
        ({"how": ""}, "Say whether they move or are enrolled as well."),
        ({"how": "both"}, "What was chosen at “What happens to their old place” is not offered."),
        ({"source": ""}, "Choose a class."),
        ({"source": "x"}, "Choose one of your other classes."),
    ],
)
def test_bad_input_is_answered_with_a_sentence(client_of, teacher, new_class, school_class, pupil, change, sentence):
    answer = client_of(teacher).post(page(new_class), fields(school_class, pupil) | change)
    assert answer.status_code == 400
    assert sentence in text_of(answer)
    assert names_in(new_class) == []


def test_a_class_of_others_is_no_source(client_of, teacher, new_class, other_class, foreign_class):
    for source in (other_class, foreign_class, new_class):
        assert client_of(teacher).get(page(new_class), {"source": source.pk}).status_code == 400


def test_a_clash_leaves_what_was_ticked(client_of, school, teacher, new_class, school_class, pupil):
    enrol(make_pupil(school, "fenna"), new_class)
    answer = client_of(teacher).post(page(new_class), fields(school_class, pupil))
    assert answer.status_code == 400
    assert "Nobody was moved: 7 Larch has another pupil called Fenna." in text_of(answer)
    assert answer.context["chosen"] == {pupil.pk}


def test_thirty_pupils_cost_no_more_queries_than_one(
    client_of, school, teacher, new_class, school_class, pupil, django_assert_num_queries
):
    client = client_of(teacher)
    client.get(page(new_class), {"source": school_class.pk})
    for _ in range(29):
        enrol(make_pupil(school), school_class)
    with django_assert_num_queries(10, exact=False):
        client.get(page(new_class), {"source": school_class.pk})
