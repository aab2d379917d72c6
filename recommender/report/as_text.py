"""The answer as text that reads well at 80 columns."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable

from recommender.answer import Answer, Notice, Option

WIDTH = 80


def as_text(answer: Answer, explain: bool = False) -> str:
    """The whole answer; `explain` adds the chain of factors, every limit state and the sources."""
    if answer.verdict == "refused":
        return _refusal(answer)
    lines = [answer.part, "=" * min(len(answer.part), WIDTH), ""]
    lines += _verdict(answer)
    if answer.choice is not None:
        lines += _choice(answer.choice)
    lines += _section("Why", answer.reasons)
    lines += _section("Nearest changes that would do", answer.nearest_changes)
    lines += _section("What one change would do", [change.words for change in answer.what_if])
    lines += _others(answer)
    lines += _cautions(answer.cautions)
    lines += _section("Because of your log", answer.because_logged)
    lines += _section("Taken for granted", answer.assumptions)
    lines += _section("To be surer", answer.home_tests)
    if explain:
        lines += _chain(answer)
    elif answer.choice is not None:
        lines += ["", "Add --explain for every figure with its source."]
    return "\n".join(lines)


def _verdict(answer: Answer) -> list[str]:
    if answer.choice is None:
        return ["Nothing suitable with what you have.", ""]
    if answer.verdict == "suitable":
        return [f"Suitable: {answer.choice.settings.material}.", ""]
    return ["Not enough: these settings do not bear the load as asked.", ""]


def _choice(option: Option) -> list[str]:
    from tabulate import tabulate

    s, load = option.settings, option.failure_load
    rows = [
        ("material", s.material),
        ("lie", f"{s.orientation}: {option.lie}"),
        ("walls", f"{s.walls}, lines {s.line_width_mm:g} mm wide"),
        ("top / bottom layers", f"{s.top_layers} / {s.bottom_layers}"),
        (
            "infill",
            f"{s.infill_percent:g} % {s.infill_pattern}"
            + ("" if option.has_core else " (none in the weakest section)"),
        ),
        ("layer height", f"{s.layer_height_mm:g} mm ({s.nozzle_diameter_mm:g} mm nozzle)"),
        ("nozzle / bed", f"{s.nozzle_temperature_c:g} °C / {s.bed_temperature_c:g} °C"),
        (
            "load at failure",
            f"{figure(load.typical)} {load.unit}; nine in ten {figure(load.low)} to {figure(load.high)}",
        ),
        ("factor", f"{option.factor:.1f}, wanted {option.required_factor:.1f}"),
        ("survives the duty", f"{_chance(option.survival_probability)}"),
    ]
    if option.deflection_mm is not None:
        rows.append(("moves under load", f"{option.deflection_mm:.2g} mm"))
    rows.append(
        ("takes", f"{_time(option)}, {option.mass_g:.0f} g, {option.filament_m:.1f} m, "
         f"{option.cost:.2f} {option.currency}")
    )  # fmt: skip
    return tabulate(rows, tablefmt="plain").splitlines()


def _time(option: Option) -> str:
    low, high = option.print_time_low_min, option.print_time_high_min
    unit, size, digits = ("h", 60.0, 1) if option.print_time_min >= 120.0 else ("min", 1.0, 0)
    bounds = ""
    if low is not None and high is not None:
        bounds = f" (nine in ten {low / size:.{digits}f} to {high / size:.{digits}f})"
    return f"{option.print_time_min / size:.{digits}f} {unit}{bounds}"


def figure(value: float) -> str:
    """Three significant figures, without an exponent."""
    return f"{float(f'{value:.3g}'):,.0f}" if value >= 100 else f"{value:.3g}"


def _chance(probability: float) -> str:
    if probability > 0.9999:
        return "more than 9,999 in 10,000"
    if probability > 0.99:
        return f"about {probability * 1000:.0f} in 1,000"
    return f"about {probability * 100:.0f} in 100"


def _wrapped(text: str, first: str = "- ", rest: str = "  ") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=rest) or [first.rstrip()]


def _section(title: str, lines: Iterable[str]) -> list[str]:
    body = [wrapped for line in lines for wrapped in _wrapped(line)]
    return ["", title, *body] if body else []


def _others(answer: Answer) -> list[str]:
    from tabulate import tabulate

    if not answer.alternatives:
        return []
    rows = [
        (
            textwrap.fill(o.label, 11),
            o.settings.material,
            o.settings.orientation,
            o.settings.walls,
            f"{o.settings.infill_percent:g} % {o.settings.infill_pattern}",
            f"{o.settings.layer_height_mm:g}",
            f"{o.factor:.1f}",
            f"{o.print_time_min:.0f}",
            f"{o.mass_g:.0f}",
            f"{o.cost:.2f}",
        )
        for o in answer.alternatives
    ]
    heads = ["", "material", "lie", "walls", "infill", "layer", "factor", "min", "g", "cost"]
    # Heads as a first row: tabulate widens every column that has a header of its own.
    table = tabulate(
        [heads, *rows], tablefmt="plain", disable_numparse=True, colalign=("left",) * 3 + ("right",) + ("left",)
        + ("right",) * 5,
    )  # fmt: skip
    return ["", "Other ways", *(line.rstrip() for line in table.splitlines())]


def _cautions(cautions: Iterable[Notice]) -> list[str]:
    lines: list[str] = []
    for notice in cautions:
        lines += _wrapped(f"{notice.signal}: {notice.hazard} {notice.result} {notice.do_this}")
    return ["", "Mind this", *lines] if lines else []


def _refusal(answer: Answer) -> str:
    lines = [
        answer.part,
        "=" * min(len(answer.part), WIDTH),
        "",
        "Refused: no settings are given for this use.",
        "",
    ]
    for notice in answer.refusals:
        lines += _wrapped(f"{notice.hazard} {notice.result} {notice.do_this}")
        if notice.because:
            lines += _wrapped(notice.because, "  ")
        lines += _wrapped(f"Ask: {notice.ask}.", "  ")
        if notice.next_step:
            lines += _wrapped(f"Next step: {notice.next_step}", "  ")
    lines += ["", *_wrapped("Local codes and licensed practice come first.", "", "")]
    return "\n".join(lines)


def _chain(answer: Answer) -> list[str]:
    from tabulate import tabulate

    option = answer.choice or (answer.alternatives[0] if answer.alternatives else None)
    if option is None:
        return []
    rows = [(f.name, f"{f.value:.3g} {f.unit}", f.grade, textwrap.fill(f.why, 44)) for f in option.chain]
    lines = ["", "Chain of factors (grade C: our estimate)"]
    lines += tabulate(rows, headers=["step", "value", "grade", "why"], tablefmt="plain").splitlines()
    states = [
        (
            s.name,
            s.load_case + 1,
            f"{s.failure_multiple:.3g}",
            f"{s.required_multiple:.3g}",
            textwrap.fill(s.words, 40),
        )
        for s in option.states
    ]
    lines += ["", "Every way to fail (times the load)"]
    lines += tabulate(
        states, headers=["state", "load", "fails at", "wanted", "what happens"], tablefmt="plain"
    ).splitlines()
    return [*lines, *_section("Sources", answer.sources)]
