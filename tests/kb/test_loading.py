"""Reading, the cache, and the user's overlay."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kb import loading
from kb.design_values import engine_values, engine_values_of
from kb.loading import KnowledgeBaseError, load_knowledge_base
from kb.schema import TABLES, Column, TableSchema

SmallBase = Callable[..., Path]


def cache_files(cache: Path) -> list[Path]:
    return sorted(cache.rglob("knowledge-*.lines"))


def forbid_compiling(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> Any:
        raise AssertionError("compiled although the cache is fresh")

    monkeypatch.setattr(loading, "_compile", refuse)


def test_the_second_load_reads_the_cache_and_is_the_same(
    small_base: SmallBase, own_cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = small_base()
    first = load_knowledge_base(folder=folder)
    assert len(cache_files(own_cache)) == 1
    forbid_compiling(monkeypatch)
    second = load_knowledge_base(folder=folder)
    assert second.version == first.version
    assert second.materials["petg"] == first.materials["petg"]
    assert dict(second.sources) == dict(first.sources)
    assert second.table("design_factors") == first.table("design_factors")
    assert second.lattices["grid"] == first.lattices["grid"]
    assert second.printers["enclosed"] == first.printers["enclosed"]


def test_a_changed_file_is_compiled_anew(small_base: SmallBase) -> None:
    folder = small_base()
    before = load_knowledge_base(folder=folder)
    path = folder / "materials" / "petg.yaml"
    path.write_text(path.read_text(encoding="utf-8").replace("Glycol", "A glycol"), encoding="utf-8")
    after = load_knowledge_base(folder=folder)
    assert after.materials["petg"].description.startswith("A glycol")
    assert after.version != before.version


@pytest.mark.parametrize("damage", [b"", b"{}", b"\xff\xfe", None])
def test_a_damaged_cache_is_rebuilt(small_base: SmallBase, own_cache: Path, damage: bytes | None) -> None:
    folder = small_base()
    good = load_knowledge_base(folder=folder)
    (kept,) = cache_files(own_cache)
    whole = kept.read_bytes()
    kept.write_bytes(whole[:-20] if damage is None else damage)
    assert load_knowledge_base(folder=folder).version == good.version
    assert kept.read_bytes() == whole


def test_an_altered_cache_is_not_believed(small_base: SmallBase, own_cache: Path) -> None:
    folder = small_base()
    load_knowledge_base(folder=folder)
    (kept,) = cache_files(own_cache)
    kept.write_bytes(kept.read_bytes().replace(b'"density"', b'"densify"'))
    assert load_knowledge_base(folder=folder).materials["petg"].facts_of("density")


def test_a_cache_that_cannot_be_written_is_done_without(
    small_base: SmallBase, own_cache: Path, tmp_path: Path
) -> None:
    own_cache.write_text("a file where the folder should be", encoding="utf-8")
    assert load_knowledge_base(folder=small_base()).materials["petg"].name == "PETG"


def test_a_failed_write_leaves_no_part_behind(
    small_base: SmallBase, own_cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(self: Path, target: Path) -> None:
        raise OSError("disk full")

    monkeypatch.setattr(Path, "replace", fail)
    load_knowledge_base(folder=small_base())
    assert [path for path in own_cache.rglob("*") if path.is_file()] == []


def test_old_caches_are_forgotten(small_base: SmallBase, own_cache: Path) -> None:
    for number in range(12):
        load_knowledge_base(
            folder=small_base(lambda f, n=number: f["materials/petg.yaml"].update(name=f"n{n}"))
        )
    assert len(cache_files(own_cache)) == 8


def test_faults_are_raised_with_their_count(small_base: SmallBase) -> None:
    folder = small_base(lambda files: files["materials/petg.yaml"].update(colour="red", size=3, x=1, y=2))
    with pytest.raises(KnowledgeBaseError, match=r"4 fault\(s\): petg\.yaml: unknown field") as caught:
        load_knowledge_base(folder=folder)
    assert len(caught.value.problems) == 4
    assert "(and 1 more)" in str(caught.value)


def test_the_mapping_builds_each_entry_once_and_only_when_asked(small_base: SmallBase) -> None:
    knowledge = load_knowledge_base(folder=small_base())
    assert "petg" in knowledge.materials and "pla" not in knowledge.materials
    assert list(knowledge.materials) == ["petg"] and len(knowledge.materials) == 1
    assert knowledge.materials["petg"] is knowledge.materials["petg"]
    with pytest.raises(KeyError):
        knowledge.materials["pla"]
    with pytest.raises(KeyError):
        knowledge.table("no such table")


# -- the user's overlay ----------------------------------------------------------------------------------


@pytest.fixture
def overlay(tmp_path: Path) -> Callable[..., Path]:
    def write(**files: Any) -> Path:
        folder = tmp_path / "mine"
        for name, content in files.items():
            path = folder / (name.replace("__", "/") + ".yaml")
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(yaml.safe_dump(content), encoding="utf-8")
        return folder

    return write


MY_BARS = {"my_bars": {"citation": "Own bars", "address": "none", "kind": "own test", "seen": "5 bars"}}
MY_STRENGTH = {
    "property": "tensile_strength_printed_flat", "low": 47, "typical": 50.5, "high": 53, "unit": "MPa",
    "source": "my_bars", "grade": "A", "basis": "measured",
}  # fmt: skip


def test_an_own_spool_is_a_child_of_a_material(small_base: SmallBase, overlay: Callable[..., Path]) -> None:
    folder = overlay(
        materials__blue={"key": "petg_blue", "base": "petg", "name": "My blue PETG", "facts": [MY_STRENGTH]},
        sources=MY_BARS,
    )
    knowledge = load_knowledge_base(folder, folder=small_base())
    own, ours = knowledge.materials["petg_blue"], knowledge.materials["petg"]
    assert own.base == "petg" and own.name == "My blue PETG" and own.family == ours.family
    strength = engine_values(own, knowledge).strength_mpa
    assert (strength.low, strength.typical, strength.high, strength.grade) == (47, 50.5, 53, "A")
    assert strength.sources == ("my_bars",)
    assert engine_values(ours, knowledge).strength_mpa.typical != 50.5
    assert engine_values(own, knowledge).density_g_cm3 == engine_values(ours, knowledge).density_g_cm3
    asides = {fact.set_aside for fact in own.facts_of("tensile_strength_printed_flat")[1:]}
    assert "" not in asides and "replaced by blue.yaml" in asides


def test_our_material_can_be_overridden_in_part(small_base: SmallBase, overlay: Callable[..., Path]) -> None:
    curve = {"property": "relative_strength", "points": [[23, 1], [80, 0.2]], "source": "estimate",
             "grade": "C", "basis": "estimate"}  # fmt: skip
    folder = overlay(materials__petg={"key": "petg", "facts": [], "curves": [curve]})
    knowledge = load_knowledge_base(folder, folder=small_base())
    values = engine_values(knowledge.materials["petg"], knowledge)
    assert float(values.strength_at(80)) == pytest.approx(0.2)
    assert knowledge.overlay == str(folder)


def test_own_printer_starts_from_a_class(small_base: SmallBase, overlay: Callable[..., Path]) -> None:
    folder = overlay(
        printers__mine={"key": "mine", "base": "enclosed", "bed_limit_c": 95, "hourly_cost": 0.8}
    )
    knowledge = load_knowledge_base(folder, folder=small_base())
    mine, base = knowledge.printers["mine"], knowledge.printers["enclosed"]
    assert (mine.bed_limit_c, mine.hourly_cost) == (95, 0.8)
    assert mine.build_volume_mm == base.build_volume_mm and base.bed_limit_c == 110


def test_a_table_row_is_replaced_or_added(
    small_base: SmallBase, overlay: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    schema = TableSchema({"key": Column(), "words": Column(), "size": Column("number")}, key="key")
    monkeypatch.setitem(TABLES, "places", schema)
    base = small_base(lambda f: f.update({"places.yaml": [{"key": "shed", "words": "cold", "size": 3}]}))
    mine = overlay(places=[{"key": "shed", "size": 4}, {"key": "attic", "size": 2}])
    knowledge = load_knowledge_base(mine, folder=base)
    assert knowledge.table("places") == (
        {"key": "shed", "words": "cold", "size": 4},
        {"key": "attic", "size": 2},
    )


def test_required_factors_cannot_be_weakened(small_base: SmallBase, overlay: Callable[..., Path]) -> None:
    with pytest.raises(KnowledgeBaseError, match="'D16' protects people and cannot be replaced"):
        load_knowledge_base(overlay(design_factors=[{"id": "D16", "factor": 1.1}]), folder=small_base())


def test_a_row_that_protects_people_cannot_be_replaced(
    small_base: SmallBase, overlay: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    schema = TableSchema({"key": Column(), "words": Column()}, key="key", overlay="extend")
    monkeypatch.setitem(TABLES, "refusals", schema)
    base = small_base(lambda f: f.update({"refusals.yaml": [{"key": "brake", "words": "no"}]}))
    with pytest.raises(KnowledgeBaseError, match="protects people and cannot be replaced"):
        load_knowledge_base(overlay(refusals=[{"key": "brake", "words": "yes"}]), folder=base)
    more = load_knowledge_base(overlay(refusals=[{"key": "jack", "words": "no"}]), folder=base)
    assert [row["key"] for row in more.table("refusals")] == ["brake", "jack"]


@pytest.mark.parametrize(
    ("files", "message"),
    [
        ({"materials__x": {"key": "x", "base": "pteg"}}, "base: there is no 'pteg'; known: petg"),
        ({"materials__x": {"key": "x"}}, "x.yaml: name: words are wanted"),
        ({"printers__x": {"key": "x", "base": "enclosed", "bed_limit": 3}}, "unknown field 'bed_limit'"),
        ({"materials__petg": {"key": "petg", "facts": [{"property": "density", "typical": "a"}]}},
         "petg.yaml: facts 1 (density): typical: a number is wanted"),
        ({"materials__petg": {"key": "petg", "facts": "none"}}, "petg.yaml: facts: a list is wanted"),
        ({"materials__petg": {"key": "petg", "curves": "none"}}, "petg.yaml: curves"),
    ],
)  # fmt: skip
def test_faults_of_the_overlay_name_file_and_field(
    small_base: SmallBase, overlay: Callable[..., Path], files: dict[str, Any], message: str
) -> None:
    with pytest.raises(KnowledgeBaseError) as caught:
        load_knowledge_base(overlay(**files), folder=small_base())
    assert any(message in problem for problem in caught.value.problems), caught.value.problems


def test_the_overlay_must_be_a_folder(tmp_path: Path, small_base: SmallBase) -> None:
    with pytest.raises(KnowledgeBaseError, match="must be an existing folder"):
        load_knowledge_base(tmp_path / "nowhere", folder=small_base())


def test_loading_leaves_our_files_alone(small_base: SmallBase, overlay: Callable[..., Path]) -> None:
    folder = small_base()
    before = {path: path.read_bytes() for path in folder.rglob("*.yaml")}
    load_knowledge_base(overlay(printers__m={"key": "m", "base": "enclosed"}), folder=folder)
    assert {path: path.read_bytes() for path in folder.rglob("*.yaml")} == before


def test_the_cache_is_lines_of_json_behind_their_hash(small_base: SmallBase, own_cache: Path) -> None:
    load_knowledge_base(folder=small_base())
    (kept,) = cache_files(own_cache)
    digest, *lines = kept.read_bytes().split(b"\n")
    assert len(digest) == 64
    first = json.loads(lines[0])
    assert first["names"]["materials"] == ["petg"]
    assert json.loads(lines[1])["name"] == "PETG"
    assert len(lines) == 1 + sum(len(names) for names in first["names"].values())


def test_the_cache_folder_is_the_one_the_library_names(
    own_cache: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from platformdirs import user_cache_path

    assert loading.cache_folder() == user_cache_path("partduty", appauthor=False) == own_cache / "partduty"
    monkeypatch.delenv("XDG_CACHE_HOME")
    assert loading.cache_folder() == user_cache_path("partduty", appauthor=False)
    monkeypatch.setattr("sys.platform", "elsewhere")
    assert loading.cache_folder() == user_cache_path("partduty", appauthor=False)


def test_without_a_home_directory_the_cache_is_done_without(
    small_base: SmallBase, monkeypatch: pytest.MonkeyPatch
) -> None:
    def homeless() -> Path:
        raise RuntimeError("Could not determine home directory.")

    monkeypatch.delenv("XDG_CACHE_HOME")
    monkeypatch.setattr(Path, "home", homeless)
    assert load_knowledge_base(folder=small_base()).materials["petg"].name == "PETG"


def test_engine_values_from_the_cache_are_those_of_the_facts(small_base: SmallBase) -> None:
    knowledge = load_knowledge_base(folder=small_base())
    petg = knowledge.materials["petg"]
    assert engine_values(petg, knowledge) == engine_values_of(petg)


def test_a_changed_material_gets_values_of_its_own(small_base: SmallBase) -> None:
    knowledge = load_knowledge_base(folder=small_base())
    petg = knowledge.materials["petg"]
    kept = tuple(f for f in petg.facts if f.property != "density" or f.grade == "C")
    other = petg._replace(facts=kept)
    assert engine_values(other, knowledge).density_g_cm3.grade == "C"
    assert engine_values(petg, knowledge).density_g_cm3.grade == "B"


def test_facts_are_read_only_when_looked_at(small_base: SmallBase, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = small_base()
    load_knowledge_base(folder=folder)

    def refuse(*_: object) -> Any:
        raise AssertionError("facts were made although nobody looked")

    monkeypatch.setattr(loading, "_facts", refuse)
    knowledge = load_knowledge_base(folder=folder)
    assert engine_values(knowledge.materials["petg"], knowledge).density_g_cm3.typical > 1
    monkeypatch.undo()
    facts = knowledge.materials["petg"].facts
    assert len(facts) == len(tuple(facts)) and facts[0] in facts and facts[:2] == tuple(facts)[:2]
    assert facts == tuple(facts) and hash(facts) == hash(tuple(facts)) and facts != ()


# -- whatever a user may write ---------------------------------------------------------------------------

ANYTHING = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-9, 9)
    | st.floats()
    | st.text(max_size=8)
    | st.sampled_from(["petg", "density", "estimate", "A", "C", "measured", "g/cm3", "enclosed"]),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6) | st.integers(), inner, max_size=3)
    ),
    max_leaves=8,
)
FIELDS = ("key", "base", "name", "facts", "curves", "filler", "crystallinity", "speeds", "sources", "other_names",
          "nozzle_diameters_mm", "id", "factor", "points", "property", "low", "typical", "unit", "grade")  # fmt: skip
ENTRY = st.dictionaries(st.sampled_from(FIELDS), ANYTHING, max_size=5)


@settings(max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    kind=st.sampled_from(
        ["materials/m.yaml", "printers/p.yaml", "lattices.yaml", "sources.yaml", "design_factors.yaml"]
    ),
    content=ENTRY
    | st.lists(ENTRY, max_size=2)
    | st.dictionaries(st.sampled_from(["facts", "curves"]), st.lists(ENTRY))
    | ANYTHING,
    key=st.sampled_from(["petg", "mine", None]),
)
def test_whatever_the_overlay_holds_ends_in_words_or_in_knowledge(
    tmp_path_factory: pytest.TempPathFactory, own_cache: Path, kind: str, content: Any, key: str | None
) -> None:
    base = _fuzz_base(tmp_path_factory)
    if isinstance(content, dict) and key:
        content = {**content, "key": key}
    folder = tmp_path_factory.mktemp("fuzz")
    path = folder / kind
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(yaml.safe_dump(content, allow_unicode=True), encoding="utf-8")
    try:
        knowledge = load_knowledge_base(folder, folder=base)
    except KnowledgeBaseError as error:
        assert error.problems and all(isinstance(problem, str) for problem in error.problems)
    else:
        for material in knowledge.materials.values():
            assert engine_values(material, knowledge).strength_mpa.low > 0


def _fuzz_base(factory: pytest.TempPathFactory) -> Path:
    """Ours, cut down to what compiles quickly: one entry of each kind and the sources it cites."""
    folder = factory.getbasetemp() / "fuzz_base"
    if not folder.exists():
        (folder / "materials").mkdir(parents=True)
        shutil.copy(loading.KB_FOLDER / "materials" / "petg.yaml", folder / "materials")
        for name in ("printers/classes.yaml", "lattices.yaml", "design_factors.yaml"):
            entries = yaml.load(
                (loading.KB_FOLDER / name).read_text(encoding="utf-8"), Loader=yaml.CSafeLoader
            )
            (folder / Path(name).name.replace("classes", "printers")).write_text(yaml.safe_dump(entries[:1]))
        bibliography = yaml.load(
            (loading.KB_FOLDER / "sources.yaml").read_text("utf-8"), Loader=yaml.CSafeLoader
        )
        written = "".join(path.read_text(encoding="utf-8") for path in folder.rglob("*.yaml"))
        cited = {key: entry for key, entry in bibliography.items() if key in written}
        (folder / "sources.yaml").write_text(yaml.safe_dump(cited), encoding="utf-8")
    return folder
