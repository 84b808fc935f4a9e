from datetime import UTC, date, datetime, timedelta

from django.template import Context, Template

from labstock.look import pictures
from labstock.look.drawing.content import Content
from labstock.look.drawing.flow import Vessel
from tests.look.drawn import of_class

NOW = datetime(2026, 11, 25, 10, 40, tzinfo=UTC)


def test_ledger_chart_takes_plain_tuples_and_brings_its_key() -> None:
    steps = [(NOW - timedelta(days=9), 100, 0.5, "received"), (NOW - timedelta(days=1), 95, 0.7, "drawn")]
    holds = [(NOW, NOW + timedelta(hours=3), 12, False)]
    html = pictures.ledger_chart(steps, NOW, 100, heel=1.5, holds=holds)
    assert "held by others" in html
    assert "held for you" not in html
    assert "weighed back" not in html


def test_no_lines_are_no_chart() -> None:
    assert pictures.ledger_chart([], NOW) == ""


def test_rules_without_a_date_are_left_out() -> None:
    rules = [("parent", None, None), ("expiry", date(2026, 9, 3), date(2028, 3, 31))]
    assert "1 possible end dates" in pictures.date_rules(rules, date(2026, 11, 25))
    assert pictures.date_rules(rules[:1], date(2026, 11, 25)) == ""


def test_session_past_midnight_runs_to_the_end_of_its_day() -> None:
    strip = pictures.session_strip(NOW.replace(hour=20), NOW + timedelta(days=1))
    bar = of_class(strip, "strip__on")[0]
    assert float(str(bar.get("x"))) + float(str(bar.get("width"))) == 198


def test_age_that_nobody_knows_is_said() -> None:
    assert "Age not known" in pictures.age_range(None, None, date(2026, 11, 25))


def test_tags_draw_from_a_template() -> None:
    page = Template(
        "{% vessel 'bottle' 100 m 1.2 size='s' state='not seen' %}{% laid 100 m need=4 %}"
        "{% yield_gauge 73.9 0.4 %}{% strength_picture rows %}{{ '0'|default:'' }}"
    ).render(Context({"m": 53, "rows": [("label", 98, 100, "label, ≥ 98 %")]}))
    assert page.count("<svg") == 6
    assert "vs-glass--away" in page


def test_amount_that_is_none_is_drawn_as_not_known() -> None:
    page = Template("{% vessel 'jar' 100 m %}").render(Context({"m": None}))
    assert 'aria-label="Jar, amount not known"' in page


def test_flow_links_every_container_both_ways_and_lists_them_for_phones() -> None:
    aniline = Vessel("Aniline", "TQ4733S", "5.61 g", "bottle", Content(141, 0.3, 250), "/C/TQ4733S")
    product = Vessel("Acetanilide <pure>", "TQ5032T", "5.82 g", "jar", Content(5.82, 0, 25))
    html = pictures.flow([aniline], [product], "Batch 26-117", "24 Nov 2026")
    assert html.count('href="/C/TQ4733S"') == 2
    assert "1 containers went into Batch 26-117; 1 came out of it" in html
    assert "<pure>" not in html
    assert html.index("went in<") < html.index("came out<")
