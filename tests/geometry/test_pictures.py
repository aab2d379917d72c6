"""Pictures are well-formed, mark every kind by shape, and show what they should."""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest

from recommender.geometry.check import CheckResult, CheckSettings, check_model
from recommender.geometry.layers import solid_of
from recommender.geometry.lie import rank
from recommender.geometry.pictures import (
    COLOURS,
    WORDS,
    contact_sheet,
    layer_picture,
    lie_picture,
    pictures_of,
    worst_layers,
)
from recommender.geometry.thin_features import Kind

MODELS = Path(__file__).resolve().parents[2] / "datasets" / "models"
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def plate() -> CheckResult:
    return check_model(MODELS / "calibration_plate.stl", CheckSettings())


def elements(svg: str, tag: str) -> list[ElementTree.Element]:
    return ElementTree.fromstring(svg).findall(f".//{SVG}{tag}")


def texts(svg: str) -> list[str]:
    return [element.text or "" for element in elements(svg, "text")]


def test_the_worst_layer_is_marked_and_listed(plate: CheckResult) -> None:
    assert plate.layers is not None and plate.thin is not None
    (layer,) = worst_layers(plate.thin)
    svg = layer_picture(plate.layers, plate.thin, layer)
    said = texts(svg)
    assert said[0] == "Layer 6 of 15"
    assert "1: 0.40 x 14 mm, narrower than one line: vanishes" in said
    assert "and 1 more in this layer" in said  # 13 spots, 12 shown
    rings = [e for e in elements(svg, "circle") if e.get("stroke") == COLOURS[Kind.ONE_LINE]]
    assert len(rings) == 2 * 4  # on the layer and in the list
    squares = [e for e in elements(svg, "rect") if e.get("stroke") == COLOURS[Kind.CLOSES]]
    assert len(squares) == 2 * 4


def test_everything_lies_within_the_picture(plate: CheckResult) -> None:
    assert plate.layers is not None and plate.thin is not None
    svg = layer_picture(plate.layers, plate.thin, 5)
    width, height = (float(v) for v in ElementTree.fromstring(svg).get("viewBox", "").split()[2:])
    for circle in elements(svg, "circle"):
        assert 0 < float(circle.get("cx", "-1")) < width
        assert 0 < float(circle.get("cy", "-1")) < height


def test_the_sheet_shows_bottom_top_and_marked_layers() -> None:
    check = check_model(MODELS / "raised_letters.stl", CheckSettings(layer_height=0.05))
    assert check.layers is not None and check.thin is not None
    said = texts(contact_sheet(check.layers, check.thin, "sign & plate"))
    captions = [text for text in said if "·" in text]
    assert len(captions) == 24
    assert captions[0].startswith("1 ·")
    assert captions[-1].startswith("56 ·")
    assert f"{worst_layers(check.thin)[0] + 1} · 2.03 mm" in captions
    assert said[0] == "sign & plate: 56 layers of 0.05 mm"
    assert set(WORDS.values()) <= set(said)


def test_the_lies_are_drawn_with_reasons_and_hatched_overhangs() -> None:
    check = check_model(MODELS / "mushroom_knob.stl", CheckSettings())
    solid = solid_of(check.model.mesh)
    lies = rank(check.model.mesh, solid, 0.2)
    svg = lie_picture(solid, lies, "knob")
    assert "needs no support" in texts(svg)
    hatched = [e for e in elements(svg, "path") if e.get("fill") == "url(#lean)"]
    assert len(hatched) == len(lies)
    assert hatched[0].get("d") == ""  # the best lie has nothing to support
    assert hatched[1].get("d")


def test_files_of_a_check(plate: CheckResult) -> None:
    assert set(pictures_of(plate, ())) == {"layer_6.svg", "layers.svg"}
    broken = check_model(MODELS / "flaw_holes.stl", CheckSettings())
    assert pictures_of(broken, ()) == {}


def test_colours_differ_in_lightness_or_shape() -> None:
    def lightness(colour: str) -> float:
        red, green, blue = (int(colour[k : k + 2], 16) / 255 for k in (1, 3, 5))
        return float(np.dot([0.2126, 0.7152, 0.0722], np.array([red, green, blue]) ** 2.2))

    for colour in COLOURS.values():
        assert (1 + 0.05) / (lightness(colour) + 0.05) > 4.5  # contrast to paper, WCAG 2.1, 1.4.3
