"""One fault of each kind is seeded; each must be reported, and nothing else."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from kb.schema import TABLES, Column, TableSchema
from kb.validation import LARGEST_FILE, problems

Files = dict[str, Any]
SmallBase = Callable[..., Path]


def fact(files: Files, prop: str = "density") -> dict[str, Any]:
    facts = files["materials/petg.yaml"]["facts"]
    return next(f for f in facts if f["property"] == prop and not f.get("set_aside"))


def change_fact(**values: Any) -> Callable[[Files], None]:
    def change(files: Files) -> None:
        target = fact(files)
        for name, value in values.items():
            if value is None:
                target.pop(name, None)
            else:
                target[name] = value

    return change


def test_the_small_base_itself_is_sound(small_base: SmallBase) -> None:
    assert problems(small_base()) == []


def drop_facts(prop: str) -> Callable[[Files], None]:
    def change(files: Files) -> None:
        kept = [f for f in files["materials/petg.yaml"]["facts"] if f["property"] != prop]
        files["materials/petg.yaml"]["facts"] = kept

    return change


def edit(name: str, *path: Any, to: Any) -> Callable[[Files], None]:
    def change(files: Files) -> None:
        target = files[name]
        for step in path[:-1]:
            target = target[step]
        target[path[-1]] = to

    return change


def remove(name: str, *path: Any) -> Callable[[Files], None]:
    def change(files: Files) -> None:
        target = files[name]
        for step in path[:-1]:
            target = target[step]
        del target[path[-1]]

    return change


def add_second_petg(files: Files) -> None:
    files["materials/second.yaml"] = files["materials/petg.yaml"]


PETG, PRINTERS, LATTICES = "materials/petg.yaml", "printers/classes.yaml", "lattices.yaml"
SEEDED: list[tuple[str, Callable[[Files], Any], str]] = [
    ("unknown field of a fact", change_fact(valeu=1.2), "unknown field 'valeu'"),
    ("unknown property", change_fact(property="densty"), "'densty' is not a known property"),
    ("not a number", change_fact(typical=float("nan")), "typical: a number is wanted, got nan"),
    ("words for a number", change_fact(typical="dense"), "typical: a number is wanted, got 'dense'"),
    ("truth value for a number", change_fact(typical=True), "typical: a number is wanted, got True"),
    ("text on a number", change_fact(text="dense"), "this property is a number, got the words 'dense'"),
    (
        "wrong order",
        change_fact(low=1.3, typical=1.2, high=1.4),
        "low <= typical <= high is wanted, got 1.3, 1.2",
    ),
    ("unit of another property", change_fact(unit="MPa"), "unit: 'MPa' is not one of g/cm3"),
    ("slip of a decimal", change_fact(typical=12.7), "12.7 g/cm3 is outside 0.5 to 3"),
    ("no value at all", change_fact(low=None, typical=None, high=None), "at least one of low, typical, high"),
    ("missing source", change_fact(source=None), "source: a key of the bibliography is missing"),
    (
        "source not in the bibliography",
        change_fact(source="nobody_1999"),
        "'nobody_1999' is cited but is not",
    ),
    ("missing grade", change_fact(grade=None), "grade: None is not one of A, B, C"),
    ("wrong basis", change_fact(basis="guessed"), "basis: 'guessed' is not one of"),
    (
        "estimate with a good grade",
        change_fact(basis="estimate", grade="A"),
        "an estimate has grade C, got 'A'",
    ),
    ("note that is no text", change_fact(note=["a"]), "note: words are wanted"),
    (
        "number on a text",
        lambda f: fact(f, "toughness_note").update(low=1.0),
        "described in words, got the number",
    ),
    (
        "word out of its class",
        lambda f: fact(f, "warp_tendency").update(text="some"),
        "'some' is not one of low",
    ),
    (
        "fact that is no mapping",
        lambda f: f[PETG]["facts"].append("light"),
        "a mapping is wanted, got 'light'",
    ),
    ("facts that are no list", edit(PETG, "facts", to=3), "facts: a list is wanted, got 3"),
    ("unknown field of a material", edit(PETG, "colour", to="red"), "unknown field 'colour'"),
    ("missing words of a material", remove(PETG, "good_at"), "good_at: words are wanted, got None"),
    ("unknown crystallinity", edit(PETG, "crystallinity", to="glassy"), "'glassy' is not one of amorphous"),
    ("names that are no list", edit(PETG, "other_names", to="x"), "other_names: a list of words"),
    ("no key", remove(PETG, "key"), "an entry needs a `key`"),
    ("two of one key", add_second_petg, "the key 'petg' exists twice (also in petg.yaml)"),
    ("no engine value", drop_facts("poisson_ratio"), "no fact in use gives poisson_ratio"),
    ("curve that rises", edit(PETG, "curves", 0, "points", to=[[23, 1.0], [40, 1.1]]), "no value may rise"),
    (
        "curve out of order",
        edit(PETG, "curves", 0, "points", to=[[40, 1], [23, 1]]),
        "temperatures must rise",
    ),
    ("curve point of three", edit(PETG, "curves", 0, "points", to=[[23, 1, 1]]), "four numbers [degC, low"),
    ("curve bounds crossed", edit(PETG, "curves", 0, "points", to=[[23, 1, 0.9, 1]]), "at 23 degC"),
    ("empty curve", edit(PETG, "curves", 0, "points", to=[]), "points: a list of"),
    (
        "unknown curve",
        edit(PETG, "curves", 0, "property", to="heat"),
        "'heat' is not one of relative_strength",
    ),
    (
        "unused source",
        edit("sources.yaml", "spare", to=dict.fromkeys(("citation", "address", "kind", "seen"), "x")),
        "spare: this source is cited nowhere",
    ),
    (
        "source without a citation",
        edit("sources.yaml", "estimate", "citation", to=""),
        "citation: words are wanted",
    ),
    ("source that is no mapping", edit("sources.yaml", "spare", to=3), "an entry needs a `key`"),
    (
        "printer with a wrong limit",
        edit(PRINTERS, 0, "bed_limit_c", to="warm"),
        "bed_limit_c: a number of 0 or more",
    ),
    (
        "printer without nozzles",
        edit(PRINTERS, 0, "nozzle_diameters_mm", to=[]),
        "a list of positive numbers",
    ),
    (
        "printer of two dimensions",
        edit(PRINTERS, 0, "build_volume_mm", to=[1, 2]),
        "3 numbers are wanted, got 2",
    ),
    (
        "printer with a word for a flag",
        edit(PRINTERS, 0, "hardened_nozzle", to="yes"),
        "true or false is wanted",
    ),
    (
        "printer with a strange enclosure",
        edit(PRINTERS, 0, "enclosure", to="tent"),
        "'tent' is not one of none",
    ),
    ("printer without speeds", edit(PRINTERS, 0, "speeds", to=60), "speeds: a mapping of outer_wall"),
    (
        "printer with a standing head",
        edit(PRINTERS, 0, "speeds", "infill", to=0),
        "speeds.infill: a positive",
    ),
    ("printer without a name", edit(PRINTERS, 0, "name", to=""), "name: words are wanted"),
    ("printer without sources", edit(PRINTERS, 0, "sources", to=[]), "sources: a list of keys"),
    ("printer without a grade", remove(PRINTERS, 0, "grade"), "grade: None is not one of"),
    (
        "lattice without a law",
        remove(LATTICES, 0, "modulus_build"),
        "modulus_build: coefficient and exponent",
    ),
    (
        "lattice law without a grade",
        remove(LATTICES, 0, "modulus_build", "grade"),
        "modulus_build: grade: None",
    ),
    (
        "lattice law without a source",
        remove(LATTICES, 0, "modulus_build", "source"),
        "modulus_build: source: a key",
    ),
    (
        "lattice range reversed",
        edit(LATTICES, 0, "density_range", to=[0.5, 0.1]),
        "rising numbers are wanted",
    ),
    ("lattice range of one", edit(LATTICES, 0, "density_range", to=[0.5]), "2 numbers are wanted"),
    (
        "lattice without spacing",
        remove(LATTICES, 0, "line_spacing_factor"),
        "line_spacing_factor: a positive",
    ),
    ("lattice with a strange field", edit(LATTICES, 0, "colour", to="red"), "unknown field 'colour'"),
    (
        "table with a strange column",
        edit("design_factors.yaml", 0, "colour", to="red"),
        "unknown field 'colour'",
    ),
    ("table with a missing column", remove("design_factors.yaml", 0, "reason"), "reason: is missing"),
    (
        "table with words for a number",
        edit("design_factors.yaml", 0, "factor", to="two"),
        "number is wanted, got",
    ),
    (
        "table with a word out of its list",
        edit("design_factors.yaml", 0, "kind", to="rule"),
        "'rule' is not one of",
    ),
    (
        "table with two rows of one key",
        edit("design_factors.yaml", 1, "id", to="D01"),
        "id 'D01' exists twice",
    ),
    ("table with a row that is no mapping", edit("design_factors.yaml", 0, to=3), "row 1 must be a mapping"),
    (
        "table that is no list",
        lambda f: f.update({"design_factors.yaml": {"a": 1}}),
        "must hold a list of entries",
    ),
    ("file that is no YAML", lambda f: f.update({PETG: "a: [1"}), "is not valid YAML"),
    (
        "file with an alias",
        lambda f: f.update({PETG: "a: &x [1]\nb: *x\n"}),
        "aliases (*name) are not allowed",
    ),
    ("file with a key twice", lambda f: f.update({PETG: "key: a\nkey: b\n"}), "'key' is written twice"),
    ("file that is only a word", lambda f: f.update({PETG: "petg"}), "must hold a mapping"),
    ("file that is huge", lambda f: f.update({PETG: "# " + "x" * LARGEST_FILE}), "larger than 2 MB"),
    ("file nested too deeply", lambda f: f.update({PETG: "[" * 20_000}), "petg.yaml: is n"),
]


@pytest.mark.parametrize(("change", "message"), [pytest.param(c, m, id=name) for name, c, m in SEEDED])
def test_a_seeded_fault_is_reported(
    small_base: SmallBase, change: Callable[[Files], Any], message: str
) -> None:
    found = problems(small_base(change))
    assert any(message in problem for problem in found), found


def test_every_fault_is_reported_at_once(small_base: SmallBase) -> None:
    def change(files: Files) -> None:
        change_fact(unit="MPa", grade=None, colour="red")(files)
        edit(PRINTERS, 0, "enclosure", to="tent")(files)

    found = problems(small_base(change))
    assert len(found) == 4
    assert all(problem.split(":")[0].endswith(".yaml") for problem in found)


def test_a_file_that_is_not_utf8_is_reported(small_base: SmallBase) -> None:
    folder = small_base()
    (folder / PETG).write_bytes(b"key: petg\nname: \xff\n")
    assert any("petg.yaml: is not UTF-8 text" in problem for problem in problems(folder))


def test_an_empty_folder_has_nothing_in_it(tmp_path: Path) -> None:
    assert problems(tmp_path) == [
        "materials: there is none",
        "printers: there is none",
        "lattices: there is none",
    ]


def test_a_table_of_somebody_elses_is_checked_by_its_schema(
    small_base: SmallBase, monkeypatch: pytest.MonkeyPatch
) -> None:
    columns = {
        "key": Column(required=True), "count": Column("whole"), "on": Column("flag"),
        "words": Column("texts", allowed=("a", "b")), "sizes": Column("numbers"), "free": Column("any"),
        "source": Column(),
    }  # fmt: skip
    monkeypatch.setitem(TABLES, "warnings", TableSchema(columns, key="key"))
    good = {"key": "w1", "count": 2, "on": True, "words": ["a"], "sizes": [1.5], "free": {"x": 1}}
    folder = small_base(lambda f: f.update({"warnings/one.yaml": [good | {"source": "estimate"}]}))
    assert problems(folder) == []
    bad = {"key": "w1", "count": 2.5, "on": 1, "words": ["c"], "sizes": ["x"], "source": "nobody"}
    found = problems(small_base(lambda f: f.update({"warnings/one.yaml": [bad]})))
    assert len(found) == 5
    assert any("'c' is not one of a, b" in p for p in found)
    assert any("'nobody' is cited" in p for p in found)
