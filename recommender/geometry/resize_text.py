"""A family of sizes as a table for people (80 columns) and as plain values for machines."""

from __future__ import annotations

import textwrap
from typing import Any

from recommender.geometry.check_text import COLUMNS
from recommender.geometry.part_check import Plastic
from recommender.geometry.resizing import Resized, SizeCompensation
from recommender.mechanics.print_time import mass_g


def as_text(
    name: str, resized: list[Resized], plastic: Plastic | None, compensation: SizeCompensation
) -> str:
    """The table of sizes with notes below it."""
    from tabulate import tabulate

    heads = ["size", "factor", "box mm", "g" if plastic else "cm³", "h:min", "load", "law", "spots"]
    table = tabulate(
        [_cells(size, plastic) for size in resized], heads, tablefmt="plain", disable_numparse=True
    )
    lines = [f"{name} in {len(resized)} size{'s' if len(resized) > 1 else ''}", "", *table.splitlines(), ""]
    lines += _legend(plastic)
    for size in resized:
        for note in size.notes:
            lines += textwrap.wrap(f"{size.label}: {note}", COLUMNS, subsequent_indent="    ")
    return "\n".join([*lines, *_compensation_lines(resized, compensation)])


def _cells(size: Resized, plastic: Plastic | None) -> list[str]:
    factors = size.factors
    alike = len(set(factors)) == 1
    volume, minutes = size.volume, round(size.time_s / 60)
    return [
        size.label,
        f"{factors[0]:.3g}" if alike else "/".join(f"{factor:.3g}" for factor in factors),
        " x ".join(f"{extent:.3g}" for extent in size.extents),
        f"{mass_g(volume=volume, density_g_cm3=plastic.density) if plastic else volume / 1000:.3g}",
        f"{minutes // 60}:{minutes % 60:02d}",
        "?" if size.load_factor is None else f"x {size.load_factor:.2f}",
        f"x {size.law_load_factor:.2f}",
        f"{size.vanishing}/{size.closing}/{size.one_line}",
    ]


def _legend(plastic: Plastic | None) -> list[str]:
    mass = f"g: mass in {plastic.name}. " if plastic else "cm³: plastic laid. "
    text = (
        f"{mass}load: load at failure over that of the file, held at one end of its longest way, recomputed "
        "with walls that do not scale; law: the same if walls scaled too. spots: places that vanish / gaps "
        "that close / places of one line only. Time and load are estimates."
    )
    return [*textwrap.wrap(text, COLUMNS), "Threads do not survive scaling: redraw them."]


def _compensation_lines(resized: list[Resized], compensation: SizeCompensation) -> list[str]:
    if not compensation.because:
        return []
    drawn = ["/".join(f"{factor:.4f}" for factor in size.drawn_factors) for size in resized]
    text = f"Drawn with factors {', '.join(drawn)} to come out right ({compensation.because})."
    return textwrap.wrap(text, COLUMNS)


def as_values(name: str, resized: list[Resized], plastic: Plastic | None) -> dict[str, Any]:
    """The family as plain values for JSON."""
    sizes = [size.as_dict() for size in resized]
    if plastic is not None:
        for size in sizes:
            size["mass_g"] = float(mass_g(volume=size["volume"], density_g_cm3=plastic.density))
    return {"file": name, "sizes": sizes}
