import re
from functools import cache
from pathlib import Path

import pytest

STYLES = Path(__file__).parents[2] / "labstock/look/static/look"
COLOUR = re.compile(r"--([\w-]+):\s*light-dark\((#\w{6}), (#\w{6})\)")

# WCAG 2.2, 1.4.3 (text 4.5), 1.4.6 (7, kept for reading), 1.4.11 (edges and areas 3); the rest is our own floor.
PAIRS = [
    ("ink", "paper", 7),
    ("ink", "sheet", 7),
    ("ink", "sunk", 7),
    ("ink-2", "paper", 7),
    ("ink-2", "sheet", 7),
    ("ink-2", "sunk", 4.5),
    ("ink-3", "paper", 4.5),
    ("ink-3", "sheet", 4.5),
    ("ink-3", "sunk", 4.5),
    ("accent", "paper", 4.5),
    ("accent", "sheet", 4.5),
    ("accent", "accent-soft", 4.5),
    ("on-accent", "accent-fill", 4.5),
    ("accent-fill", "paper", 3),
    ("on-accent", "accent-2", 4.5),
    ("ink", "accent-soft", 7),
    ("danger", "paper", 4.5),
    ("danger", "sheet", 4.5),
    ("danger", "danger-soft", 4.5),
    ("ink", "danger-soft", 7),
    ("rule-2", "paper", 3),
    ("rule-2", "sheet", 3),
    ("wash-line", "paper", 3),
    ("wash-line", "sheet", 3),
    ("wash-line", "wash", 2),
    ("ink", "wash", 4.5),
    ("ink", "wash-soft", 7),
    ("ink-2", "wash-soft", 4.5),
    ("wash", "sheet", 1.5),
    ("accent", "wash", 3),
]


@cache
def colours() -> dict[str, tuple[str, str]]:
    found = COLOUR.findall((STYLES / "tokens.css").read_text())
    return {name: (light, dark) for name, light, dark in found}


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(a: str, b: str) -> float:
    lighter, darker = sorted((luminance(a), luminance(b)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


def test_contrast_of_black_on_white_is_twenty_one() -> None:
    # WCAG 2.2, "contrast ratio": ranges from 1 to 21
    assert contrast("#000000", "#ffffff") == pytest.approx(21)


@pytest.mark.parametrize(("front", "ground", "least"), PAIRS)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_words_and_edges_stand_out(front: str, ground: str, least: float, scheme: str) -> None:
    i = ("light", "dark").index(scheme)
    assert contrast(colours()[front][i], colours()[ground][i]) >= least


def test_older_browsers_get_the_same_colours() -> None:
    older = (STYLES / "older.css").read_text()
    root, device, chosen = re.split(r"@media|:root\[data-theme=\"dark\"\]", older)
    for part, i in ((root, 0), (device, 1), (chosen, 1)):
        written = dict(re.findall(r"--([\w-]+): (#\w{6});", part))
        assert written == {name: pair[i] for name, pair in colours().items()}
