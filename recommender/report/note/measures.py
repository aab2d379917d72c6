"""Figures in the reader's units with the other units in brackets, rounded so that none promises too much.

Greatest values (load, heat, time, number of uses) go down, least values (cold) go up. Loads keep two
significant figures at most.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from kb.wording import Wording
from recommender.quantities import STANDARD_GRAVITY

Units = Literal["metric", "us"]

POUND_KG = 0.45359237  # exact (international pound, 1959)
INCH_MM = 25.4  # exact (international inch, 1959)
SLACK = 1e-9  # relative; a figure that fell short only by floating point is not rounded down a step


def rounded_down(value: float, figures: int = 2) -> float:
    """Largest number of `figures` significant figures that is not above `value` (both positive)."""
    return _rounded(value, figures, lambda steps: math.floor(steps * (1 + SLACK)))


def rounded_up(value: float, figures: int = 2) -> float:
    """Smallest number of `figures` significant figures that is not below `value` (both positive)."""
    return _rounded(value, figures, lambda steps: math.ceil(steps * (1 - SLACK)))


def _rounded(value: float, figures: int, cut: Callable[[float], int]) -> float:
    if not math.isfinite(value) or value < 0:
        raise ValueError(f"{value!r}: only finite numbers from nought up can be rounded here.")
    if value == 0:
        return 0.0
    decimals = figures - 1 - math.floor(math.log10(value))
    steps = cut(value * 10.0**decimals)
    return float(round(steps / 10.0**decimals, max(decimals, 0)))


@dataclass(frozen=True, slots=True)
class Reader:
    """Whom the page is for: their language and units."""

    wording: Wording
    units: Units = "metric"

    def say(self, key: str, **values: object) -> str:
        """The text of `key` in the reader's language."""
        return self.wording.say(key, **values)

    def number(self, value: float, decimals: int = 6) -> str:
        """`value` with the reader's decimal mark and no idle noughts."""
        text = f"{value:.{decimals}f}"
        if "." in text:
            text = text.rstrip("0").rstrip(".")
        return text.replace(".", self.say("decimal"))

    def pair(self, metric: str, us: str) -> str:
        """Both units, the reader's own first."""
        first, second = (us, metric) if self.units == "us" else (metric, us)
        return self.say("load.weight", first=first, second=second)

    def _both(self, in_metric: float, metric: str, in_us: float, us: str, up: bool = False) -> str:
        """Round the reader's unit first, then take the other from that, so that the two agree."""
        rounded = rounded_up if up else rounded_down
        per = in_us / in_metric
        if self.units == "us":
            own = rounded(in_us)
            return self.pair(f"{self.number(rounded(own / per))} {metric}", f"{self.number(own)} {us}")
        own = rounded(in_metric)
        return self.pair(f"{self.number(own)} {metric}", f"{self.number(rounded(own * per))} {us}")

    def weight(self, force: float, up: bool = False) -> str:
        """`force` in N as the weight of a mass: "12 kg (26 lb)"; rounded down, or up for a test load."""
        mass_kg = force / STANDARD_GRAVITY
        if mass_kg < 0.1:
            return self._both(mass_kg * 1000, "g", mass_kg / POUND_KG * 16, "oz", up)
        return self._both(mass_kg, "kg", mass_kg / POUND_KG, "lb", up)

    def mass(self, mass_g: float) -> str:
        """A mass in g, rounded down."""
        return self.weight(mass_g / 1000 * STANDARD_GRAVITY)

    def torque(self, torque: float, up: bool = False) -> str:
        """`torque` in N mm: "1.5 N·m (13 lbf·in)"."""
        pound_force_inch = POUND_KG * STANDARD_GRAVITY * INCH_MM  # N mm
        return self._both(torque / 1000, "N·m", torque / pound_force_inch, "lbf·in", up)

    def pressure(self, pressure: float, up: bool = False) -> str:
        """`pressure` in MPa: "20 kPa (2.9 psi)"."""
        pound_per_square_inch = POUND_KG * STANDARD_GRAVITY / INCH_MM**2  # MPa
        return self._both(pressure * 1000, "kPa", pressure / pound_per_square_inch, "psi", up)

    def energy(self, energy: float, up: bool = False) -> str:
        """`energy` in N mm: "2 J (1.4 ft·lbf)"."""
        foot_pound = POUND_KG * STANDARD_GRAVITY * 12 * INCH_MM  # N mm
        return self._both(energy / 1000, "J", energy / foot_pound, "ft·lbf", up)

    def length(self, length: float) -> str:
        """`length` in mm, rounded down: "200 mm (7.8 in)"."""
        return self._both(length, "mm", length / INCH_MM, "in")

    def size(self, length: float) -> str:
        """A planned size in mm to 0.01 mm (0.001 in); sizes are not rounded down."""
        return self.pair(f"{self.number(length, 2)} mm", f"{self.number(length / INCH_MM, 3)} in")

    def hottest(self, temperature_c: float) -> str:
        """A greatest temperature in whole degrees, rounded down: "40 °C (104 °F)"."""
        return self._temperature(temperature_c, lambda t: math.floor(t + 1e-6))

    def coldest(self, temperature_c: float) -> str:
        """A least temperature in whole degrees, rounded up."""
        return self._temperature(temperature_c, lambda t: math.ceil(t - 1e-6))

    def setting(self, temperature_c: float) -> str:
        """A temperature to set, to the nearest degree."""
        return self._temperature(temperature_c, round)

    def _temperature(self, temperature_c: float, cut: Callable[[float], int]) -> str:
        celsius = cut(temperature_c)
        fahrenheit = cut((celsius if self.units == "metric" else temperature_c) * 9 / 5 + 32)
        if self.units == "us":
            celsius = cut((fahrenheit - 32) * 5 / 9)
        return self.pair(f"{_minus(celsius)} °C", f"{_minus(fahrenheit)} °F")

    def duration(self, seconds: float) -> str:
        """A time in whole units, rounded down: "2 years", "18 months", "6 hours"."""
        for unit, length in _TIMES:
            count = math.floor(seconds / length * (1 + SLACK))
            if count >= (2 if unit == "year" else 1) or unit == "hour":
                break
        if unit == "month" and count == 12:
            unit, count = "year", 1
        if count < 1:
            minutes = max(1, math.floor(seconds / 60 * (1 + SLACK)))
            return f"{minutes} min"
        return self.say(f"time.{unit}" if count == 1 else f"time.{unit}s", n=count)

    def count(self, uses: float) -> str:
        """A greatest number of uses, rounded down to two figures: "10,000,000"."""
        return f"{rounded_down(uses):,.0f}".replace(",", self.say("thousands"))


_TIMES: tuple[tuple[str, float], ...] = (
    ("year", 31556952.0),
    ("month", 2629746.0),
    ("day", 86400.0),
    ("hour", 3600.0),
)


def _minus(value: float) -> str:
    return f"{value:.0f}".replace("-", "\u2212")
