"""Every public function of the pure folders says what it takes and gives, in which unit, by which source."""

import importlib
import inspect
import re
from collections.abc import Callable, Iterator
from dataclasses import fields, is_dataclass
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parent.parent
PURE = [
    *sorted((ROOT / "labstock/chemistry").glob("*.py")),
    *sorted((ROOT / "batches/stoichiometry").glob("*.py")),
    *(
        ROOT / f"batches/retained/{name}.py"
        for name in (
            "ages", "dating_evidence", "edtf", "edtf_part", "label_dates", "shelf_life", "shelf_life_doubt",
        )
    ),
]  # fmt: skip
MODULES = [".".join(path.relative_to(ROOT).with_suffix("").parts) for path in PURE if path.stem != "__init__"]
SECTION = re.compile(r"^(\w[\w ]*)\n-{3,}\n", re.MULTILINE)
ENTRY = re.compile(r"^(?P<names>\*{0,2}\w+(?:, \*{0,2}\w+)*)(?: : .*)?$")
UNIT = re.compile(r"\[[^\[\]]+\]")
SOURCE = re.compile(r"Source|source|ISO|JCGM|ICH|EDTF|common practice|textbook|Notes")


def faults_of(module: ModuleType) -> list[str]:
    """List what is missing in the docstrings of a module, with the name of what it is missing from."""
    return [f"{module.__name__}.{name}: {fault}" for name, fault in _faults(module)]


def _faults(module: ModuleType) -> Iterator[tuple[str, str]]:
    for name, thing in vars(module).items():
        if name.startswith("_") or getattr(thing, "__module__", None) != module.__name__:
            continue
        if inspect.isclass(thing) and not issubclass(thing, Exception):
            yield from _faults_of_class(name, thing)
        elif callable(thing) and not inspect.isclass(thing):
            yield from ((name, fault) for fault in _faults_of_function(inspect.unwrap(thing), module))


def _faults_of_function(function: Callable[..., Any], module: ModuleType) -> Iterator[str]:
    text = inspect.getdoc(function) or ""
    sections = _sections(text)
    yield from _faults_of_parameters(function, sections.get("Parameters", ""))
    if inspect.signature(function).return_annotation is not None:
        yield from _without_unit("Returns", sections.get("Returns", ""))
    if ">>>" not in sections.get("Examples", ""):
        yield "has no doctest"
    if not SOURCE.search(text) and not SOURCE.search(module.__doc__ or ""):
        yield "names no source, and neither does its module"


def _faults_of_parameters(function: Callable[..., Any], text: str) -> Iterator[str]:
    wanted = [name for name in inspect.signature(function).parameters if name not in ("self", "cls")]
    described = dict(_entries(text))
    for name in wanted:
        if name not in described:
            yield f"does not describe {name}"
        elif not UNIT.search(described[name]):
            yield f"gives {name} no unit in square brackets"


def _without_unit(section: str, text: str) -> Iterator[str]:
    if not text.strip():
        yield f"has no section {section}"
    elif not UNIT.search(text):
        yield f"gives no unit in square brackets under {section}"


def _faults_of_class(name: str, thing: type) -> Iterator[tuple[str, str]]:
    described = dict(_entries("\n".join(_sections(inspect.getdoc(thing) or "").values())))
    for field in fields(thing) if is_dataclass(thing) else ():
        if not UNIT.search(described.get(field.name, "")):
            yield name, f"gives its field {field.name} no unit in square brackets"
    for member, value in vars(thing).items():
        what = value.fget if isinstance(value, property) else getattr(value, "__func__", value)
        if member.startswith("_") or not inspect.isfunction(what):
            continue
        if not UNIT.search(inspect.getdoc(what) or ""):
            yield f"{name}.{member}", "gives no unit in square brackets"


def _sections(text: str) -> dict[str, str]:
    pieces = SECTION.split(text)
    return dict(zip(pieces[1::2], pieces[2::2], strict=True))


def _entries(text: str) -> Iterator[tuple[str, str]]:
    names: list[str] = []
    body: list[str] = []
    for line in [*text.splitlines(), "end"]:
        found = ENTRY.match(line)
        if found:
            yield from ((name.lstrip("*"), " ".join(body)) for name in names)
            names, body = found["names"].split(", "), []
        else:
            body.append(line)


def planted(source: str) -> ModuleType:
    """Return a module made from source text."""
    module = ModuleType("planted", "Nothing said here.")
    exec(compile(source, "planted.py", "exec"), vars(module))
    return module


GOOD = '''
def mass_g(volume_mL: float, density_g_per_mL: float) -> float:
    """Find a mass.

    Parameters
    ----------
    volume_mL : float
        Volume [mL].
    density_g_per_mL : float
        Density [g/mL].

    Returns
    -------
    float
        Mass [g].

    Notes
    -----
    Source: definition.

    Examples
    --------
    >>> mass_g(2, 3)
    6
    """
    return volume_mL * density_g_per_mL
'''


@pytest.mark.parametrize("name", MODULES)
def test_every_public_function_says_its_units(name: str):
    assert faults_of(importlib.import_module(name)) == []


def test_the_pure_folders_are_all_looked_at():
    assert len(MODULES) > 40
    looked_at = sum(len(list(_functions(importlib.import_module(name)))) for name in MODULES)
    assert looked_at > 120


def _functions(module: ModuleType) -> Iterator[Any]:
    for name, thing in vars(module).items():
        if not name.startswith("_") and inspect.isfunction(thing) and thing.__module__ == module.__name__:
            yield thing


def test_a_whole_docstring_passes():
    assert faults_of(planted(GOOD)) == []


@pytest.mark.parametrize(
    ("right", "wrong", "fault"),
    [
        ("Volume [mL].", "Volume.", "planted.mass_g: gives volume_mL no unit in square brackets"),
        ("Mass [g].", "Mass.", "planted.mass_g: gives no unit in square brackets under Returns"),
        ("    Returns\n    -------\n    float\n        Mass [g].\n\n", "", "planted.mass_g: has no section Returns"),
        ("    density_g_per_mL : float\n        Density [g/mL].\n", "", "planted.mass_g: does not describe density_g_per_mL"),
        (">>> mass_g(2, 3)\n    6", "None.", "planted.mass_g: has no doctest"),
        ("    Notes\n    -----\n    Source: definition.\n\n", "", "planted.mass_g: names no source, and neither does its module"),
    ],
)  # fmt: skip
def test_a_planted_fault_is_found(right: str, wrong: str, fault: str):
    assert right in GOOD
    assert faults_of(planted(GOOD.replace(right, wrong))) == [fault]


def test_a_planted_field_without_unit_is_found():
    source = 'from dataclasses import dataclass\n\n@dataclass\nclass Drop:\n    """A drop.\n\n    Parameters\n    ----------\n    volume : float\n        Its volume.\n    """\n\n    volume: float\n'
    assert faults_of(planted(source)) == ["planted.Drop: gives its field volume no unit in square brackets"]
