"""Quillbrook School: who is who. Any likeness to a school or a person is chance."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import islice

from django.utils.crypto import salted_hmac

from accounts.models import Role, School, SchoolClass, User
from accounts.services.cards import NewPupil
from accounts.services.classes import add_pupils, create_class
from accounts.services.people import create_adult, create_school

NAME = "Quillbrook School"
ADULTS = (
    (Role.HEAD, "Imre Sandoval", "imre.sandoval@quillbrook.example"),
    (Role.TEACHER, "Perpetua Oyelaran", "perpetua.oyelaran@quillbrook.example"),
    (Role.TEACHER, "Caspian Thrale", "caspian.thrale@quillbrook.example"),
    (Role.ADMINISTRATOR, "Wilhelmina Dray", "wilhelmina.dray@quillbrook.example"),
)
# Each class with its teacher (a place among the adults above) and how many pupils it has.
CLASSES = (("5 Heron", 1, 24), ("6 Kite", 1, 26), ("6 Plover", 2, 25))
NAMES = """
Abena Aldo Amrit Anouk Ansel Asha Basil Beatrix Benedek Bo Callum Chiara Cosmo Dagny Dara Dilys Dmitri Edie Eero
Efua Eliska Enzo Esme Farid Fenella Finlay Freya Gethin Greta Hana Hugo Ida Idris Ilse Imani Ishaan Ivo Jarek Joan
Juno Kalle Kenzo Kirsty Lale Leif Linus Lotte Mabel Mairi Marek Meera Milo Nadia Nell Niamh Noor Odile Olwen Otis
Paloma Pavel Priya Quentin Rafi Roisin Ruben Saoirse Sefton Silvan Tamsin Teo Thora Umi Vesna Yusuf
""".split()  # noqa: SIM905  (a list of 75 quoted names is harder to read)
# Extra time as a school might have agreed it, in per cent, by the pupil's place in the list of names.
EXTRA_TIME = {3: 25, 17: 25, 31: 50, 44: 25, 60: 10}
WORDS = ("aspen", "brook", "cedar", "delta", "ember", "grove", "inlet", "kettle", "lantern", "meadow", "pebble")


@dataclass
class People:
    """The school as loaded: adults by their place in ``ADULTS``, pupils by class, each class in order of names."""

    school: School
    adults: list[User]
    pupils: dict[SchoolClass, list[User]] = field(default_factory=dict)

    @property
    def classes(self) -> list[SchoolClass]:
        return list(self.pupils)

    @property
    def teachers(self) -> list[User]:
        return [adult for adult in self.adults if adult.is_teacher]


def make_people() -> People:
    """Make the school, its adults, classes and pupils."""
    school = create_school(name=NAME)
    word = password()
    adults = [
        create_adult(school=school, role=role, name=name, email=email, password=word, by=None)
        for role, name, email in ADULTS
    ]
    people = People(school, adults)
    names = iter(enumerate(NAMES))
    for class_name, teacher, size in CLASSES:
        school_class = create_class(school=school, name=class_name, teachers=[adults[teacher]], by=None)
        new = [NewPupil(name, EXTRA_TIME.get(place, 0), pin_of(name)) for place, name in islice(names, size)]
        cards = add_pupils(school_class=school_class, pupils=new, by=None)
        people.pupils[school_class] = [card.pupil for card in cards]
    return people


def password() -> str:
    """The adults' password: no other installation has it, since it follows from this one's secret."""
    figures = _digest("password of the adults")
    first, second, third = (WORDS[(figures >> 8 * place) % len(WORDS)] for place in range(3))
    return f"{first}-{second}-{third}-{figures % 10_000:04}"


def pin_of(name: str) -> str:
    """A pupil's PIN, made likewise."""
    return f"{_digest(name) % 10**6:06}"


def _digest(what: str) -> int:
    return int.from_bytes(salted_hmac("config.demo", what, algorithm="sha256").digest())
