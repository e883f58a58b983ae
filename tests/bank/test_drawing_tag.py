from __future__ import annotations

from types import SimpleNamespace

from django.template import Context, Template
from lxml import etree

from accounts.models import School
from bank.display import stem_pictures
from tests.bank.factories import make_question


def test_a_picture_is_set_in_as_one_image_with_its_text(school: School) -> None:
    picture = stem_pictures(make_question(school).current)[0]
    text = Template("{% load drawing %}{% drawing picture %}").render(Context({"picture": picture}))
    svg = etree.fromstring(text)
    assert svg.get("role") == "img"
    spaces = {"s": "http://www.w3.org/2000/svg"}
    assert svg.findtext("s:title", namespaces=spaces) == "Fold 1"
    assert svg.findtext("s:desc", namespaces=spaces) == picture.description
    assert not svg.xpath("//@style | //@id | //@*[starts-with(name(), 'on')] | //s:script", namespaces=spaces)


def test_words_of_people_are_escaped_around_it() -> None:
    context = Context({"picture": SimpleNamespace(svg='<svg width="1"></svg>'), "note": "<script>"})
    text = Template("{% load drawing %}{% drawing picture %}{{ note }}").render(context)
    assert text == '<svg role="img" width="1"></svg>&lt;script&gt;'
