import re
from typing import Any, cast

import django_tables2 as tables
import pytest
from django import forms
from django.contrib.auth.models import AnonymousUser
from django.http import HttpRequest
from django.template import Context, Template
from django.template.loader import render_to_string
from django.test import RequestFactory, override_settings

from labstock.people.models import User

pytestmark = pytest.mark.usefixtures("_doors")


@pytest.fixture
def _doors() -> Any:
    with override_settings(ROOT_URLCONF="tests.look.doors"):
        yield


class Marit:
    """Somebody who is logged in, without a database."""

    is_authenticated = is_active = True
    initials, role, username = "MS", "member", "marit"

    def get_full_name(self) -> str:
        return "Marit Solberg"

    def get_username(self) -> str:
        return self.username


def asked(path: str = "/front/", who: Any = None) -> HttpRequest:
    request = RequestFactory().get(path)
    request.user = cast(User, who or Marit())
    return request


def test_every_page_has_three_doors_twice_and_a_way_past_them() -> None:
    page = render_to_string("base.html", request=asked())
    assert page.count('aria-label="Three doors"') == 2
    assert '<a class="skip" href="#main">' in page
    assert page.count('id="tx-held"') == 1
    assert "Marit Solberg" in page


def test_stranger_sees_no_doors() -> None:
    page = render_to_string("base.html", request=asked(who=AnonymousUser()))
    assert "Three doors" not in page
    assert "Log out" not in page


@pytest.mark.parametrize("name", ["400.html", "403.html", "404.html", "people/locked_out.html"])
def test_pages_that_say_no_also_say_what_to_do(name: str) -> None:
    page = render_to_string(name, request=asked())
    assert 'class="answer__word"' in page
    assert re.search(r'class="btn[^"]*" href="/', page)


def test_our_fault_page_needs_no_request() -> None:
    page = render_to_string("500.html")
    assert "what you sent was not written down" in page
    assert "/static/look/tokens.css" in page


class Bottle(forms.Form):
    name = forms.CharField(help_text="As the label says.")
    kind = forms.ChoiceField(choices=[("jar", "jar"), ("vial", "vial")], widget=forms.RadioSelect)
    place = forms.ChoiceField(choices=[("1", "Cupboard 4")], required=False)
    sealed = forms.BooleanField(required=False)
    token = forms.CharField(widget=forms.HiddenInput, required=False)


def rendered(form: forms.Form, tag: str, **more: str) -> str:
    return Template(tag).render(Context({"form": form, **more}))


def test_field_ties_hint_and_label_to_the_box() -> None:
    html = rendered(Bottle(), "{% field form.name unit='mL' %}")
    assert '<label for="id_name">' in html
    assert 'aria-describedby="id_name-hint"' in html
    assert 'id="id_name-hint">As the label says.' in html
    assert '<span class="box__unit">mL</span>' in html


def test_refused_value_stays_and_says_why() -> None:
    form = Bottle({"name": "<5 mL", "kind": "bucket"})
    form.add_error("name", "5 mL & more is too much: take 3 mL.")
    html = rendered(form, "{% field form.name %}")
    assert 'value="&lt;5 mL"' in html
    assert "5 mL &amp; more is too much: take 3 mL." in html
    assert 'aria-invalid="true"' in html
    assert 'aria-describedby="id_name-wrong id_name-hint"' in html


def test_radio_buttons_are_faces_to_press_in_a_named_group() -> None:
    html = rendered(Bottle(), "{% field form.kind %}")
    assert html.count('class="pick__face"') == 2
    assert "<legend>Kind" in html


def test_hidden_field_has_no_label() -> None:
    assert "<label" not in rendered(Bottle(), "{% field form.token %}")


def test_summary_links_to_each_refused_field() -> None:
    html = rendered(Bottle({"name": ""}), "{% form_errors form %}")
    assert 'href="#id_name"' in html
    assert 'href="#kind"' in html
    assert 'id="kind"' in rendered(Bottle({"name": ""}), "{% field form.kind %}")


def test_summary_is_silent_while_nothing_is_wrong() -> None:
    assert rendered(Bottle(), "{% form_errors form %}").strip() == ""


class Stock(tables.Table):
    name = tables.Column()
    left = tables.Column(attrs={"td": {"class": "n"}})
    caption = "Containers"

    class Meta:
        template_name = "look/table.html"


def test_table_stays_a_table_when_it_stacks() -> None:
    table = Stock([{"name": "aniline", "left": "141 mL"}], order_by="-name")
    html = table.as_html(asked())
    assert '<th scope="row" role="rowheader">aniline</th>' in html
    assert 'data-h="Left"' in html
    assert 'aria-sort="descending"' in html
    assert "Containers</caption>" in html


def test_long_table_turns_pages_and_keeps_its_filters() -> None:
    table = Stock([{"name": str(i), "left": ""} for i in range(30)])
    table.paginate(page=2, per_page=10)
    html = table.as_html(asked("/front/?q=acid"))
    assert 'href="?q=acid&amp;page=3"' in html
    assert '<b aria-current="page">2</b>' in html


def test_empty_table_says_what_to_do_next() -> None:
    table = Stock([], empty_text="No container matches")
    table.empty_url, table.empty_do = "/receive/", "Receive a container"
    html = table.as_html(asked())
    assert "No container matches" in html
    assert 'href="/receive/">Receive a container' in html
    assert "<table" not in html


def test_warnings_have_a_word_and_red_is_for_danger_alone() -> None:
    html = rendered(
        Bottle(), "{% caution 'Caution: cold.' %}Wait.{% endcaution %}{% danger %}Gas.{% enddanger %}"
    )
    assert '<b class="caution__word">Caution: cold.</b> Wait.' in html
    assert html.count("sign-danger") == 1


def test_answer_and_section_escape_words_but_keep_markup_inside() -> None:
    html = rendered(
        Bottle(),
        "{% answer 'yes' form.name.html_name %}<li>why</li>{% endanswer %}"
        "{% sect title note='n' %}<p>in</p>{% endsect %}",
        title="A < B",
    )
    assert "<li>why</li>" in html
    assert "A &lt; B" in html
    assert 'aria-labelledby="h-a-b"' in html
