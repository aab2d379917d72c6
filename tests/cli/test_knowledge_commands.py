"""``materials``, ``printers`` and ``kb check`` as a user runs them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
import yaml
from typer.testing import CliRunner

from kb.loading import load_knowledge_base
from recommender.cli import app

KNOWLEDGE = load_knowledge_base()


@pytest.fixture(autouse=True)
def no_overlay(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("PARTDUTY_OVERLAY", raising=False)


def run(*args: str) -> tuple[int, str, str]:
    result = CliRunner().invoke(app, list(args))
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return result.exit_code, result.stdout, result.stderr


def listed(*args: str) -> set[str]:
    code, out, _ = run("materials", *args, "--json")
    records = json.loads(out)
    assert code == (0 if records else 1)
    return {record["material"] for record in records}


def test_the_list_names_every_material_within_80_columns() -> None:
    code, out, _ = run("materials")
    assert code == 0
    names = {line.split()[0] for line in out.splitlines()[2:] if line.strip()}
    assert set(KNOWLEDGE.materials) <= names
    assert max(map(len, out.splitlines())) <= 80
    assert "* own engineering estimate" in out


def test_a_temperature_in_another_unit_means_the_same() -> None:
    assert listed("--min-service-temp", "80") == listed("--min-service-temp", "176 °F") != listed()


def test_filters_agree_with_what_is_common_knowledge() -> None:
    outdoor = listed("--outdoor")
    assert {"asa", "petg", "pmma"} <= outdoor and not {"abs", "hips", "pla", "pp", "pvb"} & outdoor
    food = listed("--food")
    assert {"petg", "pp", "pa12"} <= food and not {"asa", "petg_cf", "pa6_gf", "pc", "pvb"} & food
    wet = listed("--wet")
    assert {"petg", "pp", "asa"} <= wet and not {"pa6", "pa6_cf", "pvb"} & wet
    hot = listed("--min-service-temp", "100")
    assert {"pc", "peek"} <= hot and not {"petg", "abs", "pla", "tpu_95a"} & hot


def test_every_filter_only_narrows() -> None:
    everything = listed()
    for args in (["--outdoor"], ["--food"], ["--wet"], ["--max-price", "30"], ["--printer", "open_medium"]):
        part = listed(*args)
        assert part < everything and part
        assert listed(*args, "--min-service-temp", "60") <= part


def test_the_printer_filter_keeps_within_the_machine() -> None:
    basic = listed("--printer", "open_basic")
    assert "pla" in basic and not {"pc", "peek", "pla_cf", "tpu_95a", "abs"} & basic
    assert {"pla_cf", "tpu_95a", "abs", "pa6_cf"} <= listed("--printer", "enclosed")
    assert "peek" not in listed("--printer", "heated_chamber") and "pc" in listed(
        "--printer", "heated_chamber"
    )
    assert {"peek", "pei", "pps_cf"} <= listed("--printer", "high_temperature")


def test_price_bound_is_inclusive() -> None:
    price = {key: r["price_per_kg"]["typical"] for key, r in records().items()}
    assert listed("--max-price", "22") == {key for key, value in price.items() if value <= 22}


def records() -> dict[str, dict[str, Any]]:
    return {record["material"]: record for record in json.loads(run("materials", "--json")[1])}


def test_nothing_suitable_exits_with_1_and_says_so() -> None:
    code, out, _ = run("materials", "--min-service-temp", "390")
    assert code == 1 and out.startswith("No material in the knowledge base does all of this")


@pytest.mark.parametrize(
    ("args", "message"),
    [
        (["materials", "--min-service-temp", "80 kg"], "error: --min-service-temp: '80 kg' is a mass"),
        (["materials", "--min-service-temp", "warm"], "error: --min-service-temp: 'warm'"),
        (["materials", "--min-service-temp", "nan"], "error: --min-service-temp:"),
        (["materials", "--min-service-temp", "800"], "800 °C is outside -60 to 400 °C"),
        (["materials", "--printer", "opn_medium"], "Did you mean open_medium"),
        (["materials", "--max-price", "-3"], "error: --max-price: -3 USD per kg is not a price"),
        (["materials", "--max-price", "nan"], "error: --max-price: nan"),
        (["materials", "show", "petgg"], "error: material: 'petgg' is not known. Did you mean petg"),
        (["materials", "--compare", "petg", "steel"], "error: material: 'steel' is not known."),
        (["printers", "show", "tent"], "error: printer: 'tent' is not known. Known: coarse_nozzle"),
        (["materials", "--overlay", "no/such"], "error: --overlay: there is no folder"),
        (["kb", "check", "--overlay", "no/such"], "error: --overlay: there is no folder"),
    ],
)
def test_bad_input_is_one_line_and_exits_with_2(args: list[str], message: str) -> None:
    code, out, err = run(*args)
    assert code == 2 and out == ""
    assert message in err and err.count("\n") == 1


@pytest.mark.parametrize("key", sorted(KNOWLEDGE.materials))
def test_a_sheet_shows_every_fact_and_source_within_80_columns(key: str) -> None:
    code, out, _ = run("materials", "show", key)
    assert code == 0 and max(map(len, out.splitlines())) <= 80
    material = KNOWLEDGE.materials[key]
    flat = " ".join(out.split())
    for fact in material.facts:
        assert fact.property.replace("_", " ") in flat
    assert flat.count("NOT USED") == sum(
        bool(entry.set_aside) for entry in (*material.facts, *material.curves)
    )
    for source in {fact.source for fact in material.facts}:
        assert f"{source}: " in out
    assert "[estimate]" in out and "grade " in out


def test_a_key_may_be_written_as_on_the_spool() -> None:
    assert run("materials", "show", "PA6-CF")[1] == run("materials", "show", "pa6_cf")[1]


def test_the_sheet_as_json_is_complete() -> None:
    sheet = json.loads(run("materials", "show", "petg", "--json")[1])
    material = KNOWLEDGE.materials["petg"]
    assert len(sheet["facts"]) == len(material.facts) and len(sheet["curves"]) == len(material.curves)
    assert set(sheet["sources"]) == {f.source for f in material.facts} | {c.source for c in material.curves}
    assert sheet["design_values"]["interlayer_ratio"]["estimate"] is True
    assert sheet["design_values"]["strength_mpa"]["grade"] == "B"


def test_compare_takes_names_in_both_ways_and_stays_within_80_columns() -> None:
    code, out, _ = run("materials", "--compare", "petg", "asa", "pa12", "pa6_cf")
    assert code == 0 and max(map(len, out.splitlines())) <= 80
    assert out == run("materials", "compare", "petg,asa,pa12,pa6_cf")[1]
    assert out.splitlines()[0].split() == ["petg", "asa", "pa12"]
    assert [r["material"] for r in json.loads(run("materials", "--compare", "asa", "petg", "--json")[1])] == [
        "asa",
        "petg",
    ]


def test_printers_list_and_show() -> None:
    code, out, _ = run("printers")
    assert code == 0 and max(map(len, out.splitlines())) <= 80
    assert all(key in out for key in KNOWLEDGE.printers)
    assert {p["key"] for p in json.loads(run("printers", "--json")[1])} == set(KNOWLEDGE.printers)
    code, out, _ = run("printers", "show", "open_basic")
    assert code == 0 and max(map(len, out.splitlines())) <= 80
    assert "pla_cf     needs a hardened nozzle" in out and "estimate" in out
    shown = json.loads(run("printers", "show", "open_basic", "--json")[1])
    assert "a feeder on the head" in shown["not_printable"]["tpu_95a"] and "pla" not in shown["not_printable"]


def test_kb_check_counts_and_passes() -> None:
    code, out, _ = run("kb", "check")
    assert code == 0 and out.startswith(f"no problem found in {len(KNOWLEDGE.materials)} materials")
    counted = json.loads(run("kb", "check", "--json")[1])
    assert counted["problems"] == [] and counted["version"] == KNOWLEDGE.version
    entries = [e for m in KNOWLEDGE.materials.values() for e in (*m.facts, *m.curves)]
    assert sum(counted["facts_by_grade"].values()) == len(entries)
    assert counted["facts_by_grade"]["C"] == sum(entry.grade == "C" for entry in entries)


def overlay_with(folder: Path, **files: Any) -> Path:
    for name, content in files.items():
        path = folder / (name.replace("__", "/") + ".yaml")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(yaml.safe_dump(content), encoding="utf-8")
    return folder


def test_kb_check_lists_every_fault_of_an_overlay(tmp_path: Path) -> None:
    bad = {"key": "blue", "base": "petg", "facts": [{"property": "density", "typical": "light"}], "size": 3}
    folder = overlay_with(tmp_path, materials__blue=bad)
    code, out, _ = run("kb", "check", "--overlay", str(folder))
    assert code == 1
    for words in ("unknown field 'size'", "a number is wanted, got 'light'", "grade: None", "source: a key"):
        assert words in out
    assert out.rstrip().endswith("problem(s) found")
    code, out, err = run("materials", "--overlay", str(folder))
    assert code == 2 and err.startswith("error: the knowledge base has") and err.count("\n") == 1
    assert json.loads(run("kb", "check", "--overlay", str(folder), "--json")[1])["problems"]


def test_an_overlay_named_by_the_environment_is_used(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    own = {"key": "mine", "base": "enclosed", "name": "my machine", "bed_limit_c": 90}
    monkeypatch.setenv("PARTDUTY_OVERLAY", str(overlay_with(tmp_path, printers__mine=own)))
    assert "bed 90 °C" in run("printers", "show", "mine")[1]
    monkeypatch.setenv("PARTDUTY_OVERLAY", str(tmp_path / "gone"))
    code, _, err = run("printers")
    assert code == 2 and err.startswith("error: --overlay: there is no folder")


def test_the_example_overlay_is_sound_and_used() -> None:
    folder = str(Path(__file__).parents[2] / "datasets" / "synthetic_overlay")
    assert run("kb", "check", "--overlay", folder)[0] == 0
    sheet = json.loads(run("materials", "show", "petg_green", "--overlay", folder, "--json")[1])
    assert sheet["base"] == "petg"
    assert sheet["design_values"]["strength_mpa"]["typical"] == 44.2
    assert sheet["design_values"]["interlayer_ratio"]["estimate"] is False
    assert sheet["design_values"]["softening_c"] == sheet_of("petg")["softening_c"]
    assert "240 x 210 x 210 mm" in run("printers", "show", "workshop", "--overlay", folder)[1]


def sheet_of(key: str) -> dict[str, Any]:
    values: dict[str, Any] = json.loads(run("materials", "show", key, "--json")[1])["design_values"]
    return values
