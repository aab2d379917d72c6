"""The commands on model files, as a user meets them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from recommender.cli import app
from recommender.geometry.reading import read_model

MODELS = Path(__file__).resolve().parents[2] / "datasets" / "models"


def run(*arguments: str) -> Result:
    return CliRunner().invoke(app, list(arguments))


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("shelf_bracket.stl", 0),
        ("calibration_plate.stl", 1),
        ("flaw_not_a_number.stl", 2),
        ("flaw_cut_short.stl", 2),
    ],
)
def test_exit_codes_of_check(name: str, code: int) -> None:
    result = run("check", str(MODELS / name))
    assert result.exit_code == code
    assert "Traceback" not in result.output
    if code == 2:
        assert result.stderr.startswith("error: ")
        assert result.stdout == ""


def test_check_reads_well_at_80_columns() -> None:
    out = run("check", str(MODELS / "calibration_plate.stl")).stdout
    assert max(map(len, out.splitlines())) <= 80
    assert "4 gaps narrower than one line of 0.45 mm will close." in out


def test_check_for_machines() -> None:
    values = json.loads(run("check", str(MODELS / "calibration_plate.stl"), "--json").stdout)
    assert values["layers"]["count"] == 15
    assert values["fine"] is False
    assert {spot["kind"] for spot in values["spots"]} == {"vanishes", "one_line", "closes"}


def test_the_nozzle_decides() -> None:
    fine = run("check", str(MODELS / "raised_letters.stl"), "--line-width", "0.28", "--nozzle", "0.25")
    assert fine.exit_code == 0
    assert run("check", str(MODELS / "raised_letters.stl")).exit_code == 1


@pytest.mark.parametrize("option", [("--layer-height", "0"), ("--line-width", "-1"), ("--units", "ell")])
def test_wrong_options_exit_2(option: tuple[str, str]) -> None:
    result = run("check", str(MODELS / "shelf_bracket.stl"), *option)
    assert result.exit_code == 2
    assert option[0] in result.stderr


def test_all_questions_at_once(tmp_path: Path) -> None:
    result = run(
        "check", str(MODELS / "crank_lever.3mf"), "--load", "x", "--section", "auto", "--force", "40",
        "--material", "petg", "--printer", "open_basic", "--pictures", str(tmp_path / "out"),
    )  # fmt: skip
    assert result.exit_code == 0
    assert max(map(len, result.stdout.splitlines())) <= 80
    for said in ("Build ", "of PETG", "Lie     1. with +z up", "weakest", "under 40 N the loaded end gives"):
        assert said in result.stdout
    assert {path.name for path in (tmp_path / "out").iterdir()} == {"layers.svg", "orientations.svg"}


def test_the_repaired_model_is_written(tmp_path: Path) -> None:
    out = tmp_path / "mended.3mf"
    result = run(
        "check", str(MODELS / "flaw_flipped_facets.stl"), "--repaired", str(out), "--orientations", "0"
    )
    assert result.exit_code == 0
    assert "flipped facets turned round" in " ".join(result.stdout.split())
    sound = read_model(MODELS / "soap_box.stl").mesh.volume
    assert read_model(out).mesh.volume == pytest.approx(sound, rel=1e-6)
    beyond = run("check", str(MODELS / "flaw_holes.stl"), "--repaired", str(tmp_path / "no.stl"))
    assert beyond.exit_code == 2
    assert not (tmp_path / "no.stl").exists()


def test_the_nozzle_sets_the_line_width() -> None:
    values = json.loads(
        run("check", str(MODELS / "calibration_plate.stl"), "--nozzle", "0.25", "--json").stdout
    )
    # 1.125 * 0.25 = 0.281: only the bar and the slot of 0.25 are narrower.
    assert sorted(spot["kind"] for spot in values["spots"] if spot["kind"] != "one_line") == [
        "closes",
        "vanishes",
    ]
    assert run("check", str(MODELS / "soap_box.stl"), "--nozzle", "9").exit_code == 2


def test_one_cut_for_machines() -> None:
    result = run(
        "check", str(MODELS / "crank_lever.3mf"), "--section", "x=45", "--material", "pla",
        "--orientations", "0", "--json",
    )  # fmt: skip
    values = json.loads(result.stdout)
    # The arm tapers from 18 to 10 over 90 mm and is 8 thick; the cut is 45 mm from the boss's edge at x = -12.
    assert values["section"]["area_mm2"] == pytest.approx((18 - 8 * 33 / 90) * 8, rel=1e-3)
    assert values["orientations"] == []
    assert values["build"]["total"] > 600


def test_a_lever_without_load_speaks_plainly() -> None:
    result = run("check", str(MODELS / "crank_lever.3mf"), "--section", "auto")
    assert result.exit_code == 2
    assert "--material" in result.stderr


@pytest.mark.parametrize(
    "options",
    [
        ("--section", "diagonal", "--material", "pla"),
        ("--section", "x=far", "--material", "pla"),
        ("--section", "x=400", "--material", "pla"),
        ("--material", "cheese"),
        ("--printer", "teapot"),
        ("--load", "0,0,0"),
        ("--orientations", "7"),
        ("--sheet", "missing.yaml"),
    ],
)
def test_wrong_questions_exit_2(options: tuple[str, ...]) -> None:
    result = run("check", str(MODELS / "crank_lever.3mf"), *options)
    assert result.exit_code == 2
    assert "Traceback" not in result.output


def test_a_sheet_whose_sizes_disagree(tmp_path: Path) -> None:
    sheet = tmp_path / "bar.yaml"
    sheet.write_text(
        "part: test bar\n"
        "form: {kind: bar, length: 500 mm, section: {shape: rectangle, width: 24 mm, thickness: 14 mm}}\n"
        "loads: [{action: pull, force: 100 N}]\n",
        encoding="utf-8",
    )
    result = run("check", str(MODELS / "crank_lever.3mf"), "--sheet", str(sheet), "--orientations", "0")
    assert "length is 500 mm on the sheet" in " ".join(result.stdout.split())
    assert result.exit_code == 1


# resize


def test_a_family_of_sizes_is_written(tmp_path: Path) -> None:
    result = run(
        "resize", str(MODELS / "drain_pipe_clip.obj"), "--from", "32", "--to", "16,32,40", "--write", str(tmp_path),
        "--material", "pla",
    )  # fmt: skip
    assert result.exit_code == 0
    assert max(map(len, result.stdout.splitlines())) <= 80
    assert {p.name for p in tmp_path.iterdir()} == {f"drain_pipe_clip_{n}.3mf" for n in (16, 32, 40)}
    original = read_model(MODELS / "drain_pipe_clip.obj").mesh
    scaled = read_model(tmp_path / "drain_pipe_clip_40.3mf")
    assert scaled.unit_known
    assert scaled.mesh.volume == pytest.approx(original.volume * (40 / 32) ** 3, rel=1e-6)


def test_resize_for_machines_and_with_compensation() -> None:
    result = run(
        "resize",
        str(MODELS / "raised_letters.stl"),
        "--factor",
        "1,2",
        "--compensate",
        "0.996,0.997,1",
        "--json",
    )
    assert result.exit_code == 1  # at 1 the gaps of 0.3 mm close
    one, two = json.loads(result.stdout)["sizes"]
    assert (one["closing"], two["closing"]) == (7, 0)
    assert one["drawn_factors"] == pytest.approx([1 / 0.996, 1 / 0.997, 1])


def test_resize_with_what_the_log_learned(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PARTDUTY_STORE", str(tmp_path / "log.db"))
    asked = ("resize", str(MODELS / "soap_box.stl"), "--factor", "1", "--compensate", "learned")
    result = run(*asked, "--material", "petg", "--json")
    assert result.exit_code == 0
    drawn = json.loads(result.stdout)["sizes"][0]["drawn_factors"]
    assert all(1 < factor < 1.03 for factor in drawn)  # nothing measured: the shrinkage of the plastic
    assert "--material" in run(*asked).stderr


@pytest.mark.parametrize(
    "options",
    [
        (),
        ("--factor", "0"),
        ("--factor", "1.2", "--axis", "q"),
        ("--factor", "1.2", "--compensate", "1,2"),
        ("--factor", "1.2", "--format", "doc", "--write", "out"),
    ],
)
def test_wrong_resizing_exits_2(options: tuple[str, ...], tmp_path: Path) -> None:
    given = [str(tmp_path / option) if option == "out" else option for option in options]
    result = run("resize", str(MODELS / "soap_box.stl"), *given)
    assert result.exit_code == 2
    assert "Traceback" not in result.output
    assert list(tmp_path.iterdir()) == []
