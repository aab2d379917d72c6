"""Checks across all files of the knowledge base; every problem is reported, not just the first.

A problem is one line: the file, the field, what is wrong and what would be right.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from pathlib import Path
from typing import Any

import yaml

from kb.loading import KB_FOLDER, content_version
from kb.schema import (
    BASES,
    CRYSTALLINITIES,
    CURVES,
    ENCLOSURES,
    GRADES,
    PROPERTIES,
    TABLES,
    Column,
    Property,
    TableSchema,
)

Plain = dict[str, Any]
LOADER: type[Any] = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
LARGEST_NUMBER = 1e12
LARGEST_FILE = 2_000_000  # bytes; ours are below 60 kB

FACT_KEYS = (
    "property",
    "low",
    "typical",
    "high",
    "text",
    "unit",
    "condition",
    "source",
    "grade",
    "basis",
    "note",
    "set_aside",
)
CURVE_KEYS = ("property", "points", "source", "grade", "basis", "note", "set_aside")
MATERIAL_WORDS = ("name", "family", "filler", "crystallinity", "description", "good_at", "fails_by")
SOURCE_KEYS = ("citation", "address", "kind", "seen")
PRINTER_NUMBERS = (
    "hot_end_limit_c",
    "bed_limit_c",
    "chamber_limit_c",
    "acceleration_mm_s2",
    "flow_limit_mm3_s",
    "min_layer_time_s",
    "hourly_cost",
)
SPEED_KEYS = ("outer_wall", "inner_wall", "infill", "top_bottom", "travel")
LATTICE_LAWS = (
    "modulus_in_plane_weakest",
    "modulus_in_plane_along",
    "modulus_build",
    "shear_modulus_in_plane",
    "shear_modulus_out_of_plane",
    "strength_in_plane_weakest",
    "strength_in_plane_along",
    "strength_build",
    "shear_strength_out_of_plane",
)


def problems(folder: Path = KB_FOLDER, overlay: Path | None = None) -> list[str]:
    """Every fault of the files in ``folder`` with the user's ``overlay``; empty when there is none."""
    compiled, faults = checked(folder, overlay)
    return faults or text_faults(folder, compiled)


def text_faults(folder: Path, compiled: Plain) -> list[str]:
    """Words that are missing in a language or older than their English; a fault of ours, not of an overlay.

    They stop a build and show in ``partduty kb check``, but never stop a user's command.
    """
    if compiled["overlay"] or not (folder / "texts").is_dir():
        return []
    from kb.wording import ROW_TEXTS, row_texts, text_problems

    rows = {name: compiled["tables"].get(name, ()) for name in ROW_TEXTS}
    return text_problems(folder / "texts", *row_texts(rows))


def checked(folder: Path, overlay: Path | None) -> tuple[Plain, list[str]]:
    """The compiled plain form of all files, and every fault found in them."""
    faults: list[str] = []
    compiled = _read_folder(folder, faults)
    if overlay is not None:
        _merge(compiled, _read_folder(overlay, faults), faults)
    _check(compiled, faults, ours_only=overlay is None)
    if not faults:
        faults += _missing_engine_values(compiled)
    for part in ("materials", "printers", "lattices", "sources"):
        for entry in compiled[part].values():
            entry.pop("_file", None)
    for rows in compiled["tables"].values():
        for row in rows:
            row.pop("_file", None)
    compiled["version"] = content_version(compiled) if not faults else ""
    compiled["values"] = _engine_values(compiled) if not faults else {}
    compiled["overlay"] = str(overlay) if overlay is not None else ""
    return compiled, faults


# -- reading -----------------------------------------------------------------------------------------------


class _LoaderOfUniqueKeys(LOADER):  # type: ignore[misc]
    """Safe YAML that refuses a key written twice."""

    def construct_mapping(self, node: Any, deep: bool = False) -> Any:
        seen: set[Any] = set()
        for key_node, _ in node.value:
            key = str(key_node.value)
            if key in seen:
                line = key_node.start_mark.line + 1
                raise yaml.YAMLError(f"line {line}: the key {key!r} is written twice")
            seen.add(key)
        return super().construct_mapping(node, deep=deep)


def read_yaml(path: Path) -> Any:
    """Content of a YAML file.

    Raises
    ------
    ValueError
        The file cannot be read, is too large, is not UTF-8 or not YAML.
    """
    try:
        if path.stat().st_size > LARGEST_FILE:
            raise ValueError(f"larger than {LARGEST_FILE // 1_000_000} MB")
        text = path.read_text(encoding="utf-8")
        _refuse_aliases(text)
        return yaml.load(text, Loader=_LoaderOfUniqueKeys)
    except OSError as error:
        raise ValueError(f"cannot be read ({error.strerror})") from error
    except UnicodeDecodeError as error:
        raise ValueError("is not UTF-8 text") from error
    except RecursionError as error:
        raise ValueError("is nested too deeply") from error
    except yaml.YAMLError as error:
        raise ValueError(f"is not valid YAML: {' '.join(str(error).split())}") from error


def _refuse_aliases(text: str) -> None:
    """With aliases (*name) a small file can grow without bound."""
    if "*" in text and any(isinstance(event, yaml.AliasEvent) for event in yaml.parse(text, Loader=LOADER)):
        raise yaml.YAMLError("aliases (*name) are not allowed")


def _read_folder(folder: Path, faults: list[str]) -> Plain:
    compiled: Plain = {"materials": {}, "printers": {}, "lattices": {}, "sources": {}, "tables": {}}
    for part in ("materials", "printers", "lattices"):
        for path, entry in _entries(folder, part, faults):
            _add(compiled[part], path, entry, faults)
    for path in sorted(folder.glob("sources*.yaml")):
        content = _content(path, dict, faults)
        for key, entry in (content or {}).items():
            entry = {"key": key, **entry} if isinstance(entry, dict) else entry
            _add(compiled["sources"], path, entry, faults)
    for name, schema in TABLES.items():
        rows: list[Plain] = []
        for path in [*folder.glob(f"{name}.yaml"), *sorted((folder / name).glob("*.yaml"))]:
            for number, row in enumerate(_content(path, list, faults) or [], start=1):
                if isinstance(row, dict):
                    rows.append({**row, "_file": path.name})
                else:
                    faults.append(f"{path}: row {number} must be a mapping of columns to values")
        compiled["tables"][name] = rows
        _refuse_duplicates(name, schema, rows, faults)
    return compiled


def _entries(folder: Path, part: str, faults: list[str]) -> Iterator[tuple[Path, Any]]:
    """(file, entry) of ``part``: one entry per file, or a list of entries in a file."""
    for path in [*folder.glob(f"{part}.yaml"), *sorted((folder / part).glob("*.yaml"))]:
        content = _content(path, (dict, list), faults)
        for entry in content if isinstance(content, list) else [content]:
            if entry is not None:
                yield path, entry


def _content(path: Path, kind: type | tuple[type, ...], faults: list[str]) -> Any:
    try:
        content = read_yaml(path)
    except ValueError as error:
        faults.append(f"{path}: {error}")
        return None
    if not isinstance(content, kind):
        wanted = "a list of entries" if kind is list else "a mapping of names to values"
        faults.append(f"{path}: must hold {wanted}")
        return None
    return content


def _add(entries: Plain, path: Path, entry: Any, faults: list[str]) -> None:
    if not isinstance(entry, dict) or not isinstance(entry.get("key"), str) or not entry["key"]:
        faults.append(f"{path}: an entry needs a `key` (a short word)")
    elif entry["key"] in entries:
        faults.append(
            f"{path}: the key {entry['key']!r} exists twice (also in {entries[entry['key']]['_file']})"
        )
    else:
        entries[entry["key"]] = {**entry, "_file": path.name}


def _refuse_duplicates(name: str, schema: TableSchema, rows: list[Plain], faults: list[str]) -> None:
    seen: set[Any] = set()
    for row in rows:
        key = str(row.get(schema.key))
        if schema.key in row and key in seen:
            faults.append(f"{row['_file']}: {name}: {schema.key} {key!r} exists twice")
        seen.add(key)


# -- the user's overlay ------------------------------------------------------------------------------------


def _merge(compiled: Plain, overlay: Plain, faults: list[str]) -> None:
    for part in ("printers", "lattices", "sources"):
        for key, entry in overlay[part].items():
            compiled[part][key] = {**_base_of(compiled[part], key, entry, faults), **_without_base(entry)}
    for key, entry in overlay["materials"].items():
        compiled["materials"][key] = _merged_material(compiled["materials"], key, entry, faults)
    for name, rows in overlay["tables"].items():
        _merge_table(name, compiled["tables"][name], rows, faults)


def _base_of(entries: Plain, key: str, entry: Plain, faults: list[str]) -> Plain:
    """The entry an overlay entry starts from: its ``base``, else ours of the same key, else nothing."""
    base = str(entry.get("base", key))
    if base in entries:
        return dict(entries[base])
    if "base" in entry:
        faults.append(f"{entry['_file']}: base: there is no {base!r}; known: {', '.join(sorted(entries))}")
    return {}


def _without_base(entry: Plain) -> Plain:
    return {name: value for name, value in entry.items() if name != "base"}


def _merged_material(materials: Plain, key: str, entry: Plain, faults: list[str]) -> Plain:
    """Own words win; own facts come first and set aside the inherited facts on the same property."""
    base = _base_of(materials, key, entry, faults)
    merged = {**base, **entry}
    if "base" not in entry:
        merged.pop("base", None)
    for part in ("facts", "curves"):
        if part in base:
            merged[part] = _own_first(entry.get(part, []), base[part], entry["_file"])
    return merged


def _own_first(own: Any, inherited: Any, file: str) -> Any:
    """Own entries, then the inherited ones, set aside where an own entry is about the same property."""
    if not isinstance(own, list) or not isinstance(inherited, list):
        return own
    about = {str(entry.get("property")) for entry in own if isinstance(entry, dict)}
    return own + [
        {**entry, "set_aside": entry.get("set_aside") or f"replaced by {file}"}
        if isinstance(entry, dict) and entry.get("property") in about
        else entry
        for entry in inherited
    ]


def _merge_table(name: str, rows: list[Plain], added: list[Plain], faults: list[str]) -> None:
    schema = TABLES[name]
    position = {str(row.get(schema.key)): number for number, row in enumerate(rows)}
    for row in added:
        number = position.get(str(row.get(schema.key)))
        if number is None:
            rows.append(row)
        elif schema.overlay == "replace":
            rows[number] = {**rows[number], **row}
        else:
            faults.append(
                f"{row['_file']}: {name}: {row[schema.key]!r} protects people and cannot be replaced; "
                "add a row of another name instead"
            )


# -- checks ------------------------------------------------------------------------------------------------


def _check(compiled: Plain, faults: list[str], ours_only: bool) -> None:
    used: set[str] = set()
    for source in compiled["sources"].values():
        faults += _source_faults(source)
    for material in compiled["materials"].values():
        faults += _material_faults(material, used)
    for printer in compiled["printers"].values():
        faults += _printer_faults(printer, used)
    for lattice in compiled["lattices"].values():
        faults += _lattice_faults(lattice, used)
    for name, rows in compiled["tables"].items():
        for row in rows:
            faults += _row_faults(name, TABLES[name], row, used)
    for key in sorted(used - set(compiled["sources"])):
        faults.append(f"sources: {key!r} is cited but is not in the bibliography")
    if ours_only:
        for key in sorted(set(compiled["sources"]) - used):
            faults.append(f"{compiled['sources'][key]['_file']}: {key}: this source is cited nowhere")
    for part in ("materials", "printers", "lattices"):
        if not compiled[part]:
            faults.append(f"{part}: there is none")


def _source_faults(source: Plain) -> Iterator[str]:
    where = f"{source['_file']}: {source['key']}"
    yield from _unknown_keys(where, source, ("key", *SOURCE_KEYS))
    for name in SOURCE_KEYS:
        if not isinstance(source.get(name), str) or not source[name].strip():
            yield f"{where}: {name}: words are wanted, got {source.get(name)!r}"


def _material_faults(material: Plain, used: set[str]) -> Iterator[str]:
    where = material["_file"]
    yield from _unknown_keys(
        where, material, ("key", "base", "other_names", "facts", "curves", *MATERIAL_WORDS)
    )
    for name in MATERIAL_WORDS:
        if not isinstance(material.get(name), str) or (name != "filler" and not material[name]):
            yield f"{where}: {name}: words are wanted, got {material.get(name)!r}"
    if not _one_of(material.get("crystallinity"), CRYSTALLINITIES):
        yield _not_one_of(f"{where}: crystallinity", material.get("crystallinity"), CRYSTALLINITIES)
    if not isinstance(material.get("other_names", []), list):
        yield f"{where}: other_names: a list of words is wanted"
    yield from _each(where, "facts", material.get("facts"), _fact_faults, used)
    yield from _each(where, "curves", material.get("curves", []), _curve_faults, used)


def _each(where: str, name: str, entries: Any, check: Any, used: set[str]) -> Iterator[str]:
    if not isinstance(entries, list):
        yield f"{where}: {name}: a list is wanted, got {entries!r}"
        return
    for number, entry in enumerate(entries, start=1):
        if isinstance(entry, dict):
            yield from check(f"{where}: {name} {number} ({entry.get('property')})", entry, used)
        else:
            yield f"{where}: {name} {number}: a mapping is wanted, got {entry!r}"


def _fact_faults(where: str, fact: Plain, used: set[str]) -> Iterator[str]:
    yield from _unknown_keys(where, fact, FACT_KEYS)
    yield from _provenance_faults(where, fact, used)
    known = PROPERTIES.get(str(fact.get("property")))
    if known is None:
        yield f"{where}: property: {fact.get('property')!r} is not a known property"
    elif known.is_text or (fact.get("unit") == "text" and fact.get("set_aside")):
        yield from _text_faults(where, fact, known)
    else:
        yield from _number_faults(where, fact, known)


def _provenance_faults(where: str, entry: Plain, used: set[str]) -> Iterator[str]:
    if not isinstance(entry.get("source"), str) or not entry["source"]:
        yield f"{where}: source: a key of the bibliography is missing"
    else:
        used.add(entry["source"])
    if not _one_of(entry.get("grade"), GRADES):
        yield _not_one_of(f"{where}: grade", entry.get("grade"), tuple(GRADES))
    if not _one_of(entry.get("basis"), BASES):
        yield _not_one_of(f"{where}: basis", entry.get("basis"), BASES)
    if entry.get("basis") == "estimate" and entry.get("grade") != "C":
        yield f"{where}: an estimate has grade C, got {entry.get('grade')!r}"
    for name in ("condition", "note", "set_aside"):
        if not isinstance(entry.get(name, ""), str):
            yield f"{where}: {name}: words are wanted, got {entry[name]!r}"


def _text_faults(where: str, fact: Plain, known: Property) -> Iterator[str]:
    if not isinstance(fact.get("text"), str) or not fact["text"].strip():
        yield f"{where}: text: words are wanted, got {fact.get('text')!r}"
    elif known.words and fact["text"] not in known.words:
        yield _not_one_of(f"{where}: text", fact["text"], known.words)
    if not _one_of(fact.get("unit"), (*known.units, "text")):
        yield _not_one_of(f"{where}: unit", fact.get("unit"), known.units)
    for name in ("low", "typical", "high"):
        if fact.get(name) is not None:
            yield f"{where}: {name}: this property is described in words, got the number {fact[name]!r}"


def _number_faults(where: str, fact: Plain, known: Property) -> Iterator[str]:
    if fact.get("text") is not None:
        yield f"{where}: text: this property is a number, got the words {fact['text']!r}"
    if not _one_of(fact.get("unit"), known.units):
        yield _not_one_of(f"{where}: unit", fact.get("unit"), known.units)
    values = []
    for name in ("low", "typical", "high"):
        value = fact.get(name)
        if value is None:
            continue
        if not _is_number(value):
            yield f"{where}: {name}: a number is wanted, got {value!r}"
            continue
        values.append(value)
        if not known.least <= value <= known.most:
            yield (
                f"{where}: {name}: {value:g} {fact.get('unit')} is outside "
                f"{known.least:g} to {known.most:g}; check the unit"
            )
    if not values and fact.get("text") is None:
        yield f"{where}: at least one of low, typical, high is wanted"
    if values != sorted(values):
        yield f"{where}: low <= typical <= high is wanted, got {', '.join(f'{v:g}' for v in values)}"


def _is_number(value: Any) -> bool:
    return (
        isinstance(value, int | float)
        and not isinstance(value, bool)
        and -LARGEST_NUMBER < value < LARGEST_NUMBER  # false for NaN, too
    )


def _one_of(value: Any, allowed: Collection[str]) -> bool:
    return isinstance(value, str) and value in allowed


def _is_plain(value: Any) -> bool:
    """Whether JSON can hold the value (YAML also knows dates and sets)."""
    if isinstance(value, dict):
        return all(isinstance(key, str) and _is_plain(item) for key, item in value.items())
    if isinstance(value, list):
        return all(map(_is_plain, value))
    return value is None or isinstance(value, str | bool) or _is_number(value)


def _curve_faults(where: str, curve: Plain, used: set[str]) -> Iterator[str]:
    yield from _unknown_keys(where, curve, CURVE_KEYS)
    yield from _provenance_faults(where, curve, used)
    if not _one_of(curve.get("property"), CURVES):
        yield _not_one_of(f"{where}: property", curve.get("property"), tuple(CURVES))
    points = curve.get("points")
    if not isinstance(points, list) or not points:
        yield f"{where}: points: a list of [degC, low, typical, high] is wanted"
        return
    for point in points:
        if not isinstance(point, list) or len(point) not in (2, 4) or not all(map(_is_number, point)):
            yield f"{where}: points: four numbers [degC, low, typical, high] are wanted, got {point!r}"
            return
        if point[1:] != sorted(point[1:]):
            yield f"{where}: points: low <= typical <= high is wanted at {point[0]:g} degC"
    if [p[0] for p in points] != sorted({p[0] for p in points}):
        yield f"{where}: points: temperatures must rise from point to point"
    for column in range(1, min(map(len, points))):
        values = [p[column] for p in points]
        if values != sorted(values, reverse=True) or values[-1] < 0:
            yield f"{where}: points: no value may rise with temperature or be negative"
            return


def _printer_faults(printer: Plain, used: set[str]) -> Iterator[str]:
    where = f"{printer['_file']}: {printer['key']}"
    listed = {"nozzle_diameters_mm": None, "build_volume_mm": 3, "layer_heights_mm": 2}
    known = (
        "key",
        "name",
        "description",
        "enclosure",
        "hardened_nozzle",
        "direct_drive",
        "speeds",
        "currency",
    )
    yield from _unknown_keys(where, printer, (*known, *PRINTER_NUMBERS, *listed, "sources", "grade", "note"))
    for name in PRINTER_NUMBERS:
        if not _is_number(printer.get(name)) or printer[name] < 0:
            yield f"{where}: {name}: a number of 0 or more is wanted, got {printer.get(name)!r}"
    for name, count in listed.items():
        values = printer.get(name)
        if not isinstance(values, list) or not values or not all(_is_number(v) and v > 0 for v in values):
            yield f"{where}: {name}: a list of positive numbers is wanted, got {values!r}"
        elif count and len(values) != count:
            yield f"{where}: {name}: {count} numbers are wanted, got {len(values)}"
    for name in ("name", "description", "currency"):
        if not isinstance(printer.get(name), str) or not printer[name]:
            yield f"{where}: {name}: words are wanted, got {printer.get(name)!r}"
    for name in ("hardened_nozzle", "direct_drive"):
        if not isinstance(printer.get(name), bool):
            yield f"{where}: {name}: true or false is wanted, got {printer.get(name)!r}"
    if not _one_of(printer.get("enclosure"), ENCLOSURES):
        yield _not_one_of(f"{where}: enclosure", printer.get("enclosure"), ENCLOSURES)
    speeds = printer.get("speeds")
    if not isinstance(speeds, dict):
        yield f"{where}: speeds: a mapping of {', '.join(SPEED_KEYS)} in mm/s is wanted"
    else:
        yield from _unknown_keys(f"{where}: speeds", speeds, SPEED_KEYS)
        for name in SPEED_KEYS:
            if not _is_number(speeds.get(name)) or speeds[name] <= 0:
                yield f"{where}: speeds.{name}: a positive number is wanted, got {speeds.get(name)!r}"
    yield from _citation_faults(where, printer.get("sources"), used)
    if not _one_of(printer.get("grade"), GRADES):
        yield _not_one_of(f"{where}: grade", printer.get("grade"), tuple(GRADES))


def _citation_faults(where: str, sources: Any, used: set[str]) -> Iterator[str]:
    if not isinstance(sources, list) or not sources or not all(isinstance(s, str) for s in sources):
        yield f"{where}: sources: a list of keys of the bibliography is wanted, got {sources!r}"
    else:
        used.update(sources)


def _lattice_faults(lattice: Plain, used: set[str]) -> Iterator[str]:
    where = f"{lattice['_file']}: {lattice['key']}"
    listed = {"density_range": 2, "printed_penalty": 3}
    known = ("key", "name", "description", "line_spacing_factor", "line_families", "sources", "note")
    yield from _unknown_keys(where, lattice, (*known, *LATTICE_LAWS, *listed))
    for name in LATTICE_LAWS:
        law = lattice.get(name)
        if not isinstance(law, dict) or not all(_is_number(law.get(k)) for k in ("coefficient", "exponent")):
            yield f"{where}: {name}: coefficient and exponent are wanted, got {law!r}"
            continue
        yield from _unknown_keys(
            f"{where}: {name}", law, ("coefficient", "exponent", "source", "grade", "note")
        )
        if not _one_of(law.get("grade"), GRADES):
            yield _not_one_of(f"{where}: {name}: grade", law.get("grade"), tuple(GRADES))
        if not isinstance(law.get("source"), str):
            yield f"{where}: {name}: source: a key of the bibliography is missing"
        else:
            used.add(law["source"])
    for name, count in listed.items():
        values = lattice.get(name)
        if not isinstance(values, list) or len(values) != count or not all(map(_is_number, values)):
            yield f"{where}: {name}: {count} numbers are wanted, got {values!r}"
        elif values != sorted(values):
            yield f"{where}: {name}: rising numbers are wanted, got {values!r}"
    for name in ("line_spacing_factor", "line_families"):
        if not _is_number(lattice.get(name)) or lattice[name] <= 0:
            yield f"{where}: {name}: a positive number is wanted, got {lattice.get(name)!r}"
    yield from _citation_faults(where, lattice.get("sources"), used)


def _row_faults(name: str, schema: TableSchema, row: Plain, used: set[str]) -> Iterator[str]:
    where = f"{row['_file']}: {name} {row.get(schema.key, '?')}"
    yield from _unknown_keys(where, row, tuple(schema.columns))
    for column, rule in schema.columns.items():
        if row.get(column) is None:
            if rule.required:
                yield f"{where}: {column}: is missing"
            continue
        yield from _cell_faults(f"{where}: {column}", row[column], rule)
    for column in {"source", "sources"} & set(schema.columns):
        cited = row.get(column)
        used.update([cited] if isinstance(cited, str) else [s for s in cited or [] if isinstance(s, str)])


def _cell_faults(where: str, value: Any, rule: Column) -> Iterator[str]:
    good: dict[str, Callable[[], bool]] = {
        "text": lambda: isinstance(value, str),
        "number": lambda: _is_number(value),
        "whole": lambda: isinstance(value, int) and not isinstance(value, bool),
        "flag": lambda: isinstance(value, bool),
        "texts": lambda: isinstance(value, list) and all(isinstance(v, str) for v in value),
        "numbers": lambda: isinstance(value, list) and all(map(_is_number, value)),
        "any": lambda: _is_plain(value),
    }
    if not good[rule.kind]():
        yield f"{where}: {rule.kind} is wanted, got {value!r}"
    elif rule.allowed:
        for word in value if isinstance(value, list) else [value]:
            if word not in rule.allowed:
                yield _not_one_of(where, word, rule.allowed)


def _unknown_keys(where: str, entry: Mapping[Any, Any], known: tuple[str, ...]) -> Iterator[str]:
    for name in entry:
        if name not in known and name != "_file":
            yield f"{where}: unknown field {name!r}; known: {', '.join(known)}"


def _not_one_of(where: str, value: Any, allowed: tuple[str, ...]) -> str:
    return f"{where}: {value!r} is not one of {', '.join(allowed)}"


def _missing_engine_values(compiled: Plain) -> Iterator[str]:
    from kb.design_values import missing_values
    from kb.loading import material_from

    for plain in compiled["materials"].values():
        words = {name: value for name, value in plain.items() if name != "_file"}
        missing = missing_values(material_from(words))
        if missing:
            yield f"{plain['_file']}: no fact in use gives {', '.join(missing)}"


def _engine_values(compiled: Plain) -> Plain:
    """Plain engine values of every material, so that a start need not work them out anew."""
    from kb.design_values import engine_values_of, values_as_list
    from kb.loading import material_from

    materials = compiled["materials"]
    return {key: values_as_list(engine_values_of(material_from(plain))) for key, plain in materials.items()}


def summary(compiled: Mapping[str, Any]) -> dict[str, Any]:
    """How much there is of each kind; facts and curves by grade, those set aside included."""
    entries = [
        entry
        for material in compiled["materials"].values()
        for entry in [*material["facts"], *material.get("curves", [])]
    ]
    grades = [entry["grade"] for entry in entries]
    return {
        "version": compiled["version"],
        **{part: len(compiled[part]) for part in ("materials", "printers", "lattices", "sources")},
        "tables": {name: len(rows) for name, rows in compiled["tables"].items()},
        "facts_by_grade": {grade: grades.count(grade) for grade in GRADES},
        "set_aside": sum(bool(entry.get("set_aside")) for entry in entries),
    }
