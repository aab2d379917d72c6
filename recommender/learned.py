"""What the outcome log has taught, as plain numbers that the engine applies.

The log computes this record from its rows at every start; nothing here is stored.
"""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class LearnedFactor:
    """A factor on an estimate: median and log standard deviation, with the entries it came from.

    `median` multiplies our figure (1.2 on time means 20 % longer); `log_sd` is the standard deviation of
    its natural logarithm; `because` is one plain sentence that names the entries.
    """

    median: float
    log_sd: float
    entries: tuple[str, ...] = ()
    because: str = ""


BELIEVED_TIME = LearnedFactor(1.2, 0.133)
BELIEVED_MASS = LearnedFactor(1.1, 0.063)
"""Of the next print, before any entry: usual prints take 1.2 times what is calculated, nine in ten 0.96 to 1.5 times,
and weigh 1.1 times (0.99 to 1.22). Estimates (grade C) from few anecdotes: `kb/failures` and datasets/behaviour."""


@dataclass(frozen=True, slots=True)
class Learned:
    """Everything learned that bears on one duty: by material key, for the printer in question.

    Attributes
    ----------
    strength : mapping of material key to LearnedFactor
        On the strength predicted by mechanics and regression.
    time, mass : mapping of material key to LearnedFactor
        On print time and on mass.
    first_time_right : mapping of material key to (probability, because)
        Probability that the print succeeds the first time.
    believed_time, believed_mass : LearnedFactor
        What is taken for a material of which the log teaches no time or mass.
    """

    strength: dict[str, LearnedFactor] = field(default_factory=dict)
    time: dict[str, LearnedFactor] = field(default_factory=dict)
    mass: dict[str, LearnedFactor] = field(default_factory=dict)
    first_time_right: dict[str, tuple[float, str]] = field(default_factory=dict)
    believed_time: LearnedFactor = BELIEVED_TIME
    believed_mass: LearnedFactor = BELIEVED_MASS

    def time_of(self, material: str) -> LearnedFactor:
        """Factor on print time."""
        return self.time.get(material, self.believed_time)

    def mass_of(self, material: str) -> LearnedFactor:
        """Factor on mass."""
        return self.mass.get(material, self.believed_mass)

    def because(self, material: str) -> tuple[str, ...]:
        """Sentences on what was learned: all that bears on `material`, then the strength of others."""
        own = [factors.get(material) for factors in (self.strength, self.time, self.mass)]
        others = [factor for key, factor in self.strength.items() if key != material]
        told = [f"Because {factor.because}." for factor in (*own, *others) if factor and factor.entries]
        chance = self.first_time_right.get(material)
        return (*told, f"Because {chance[1]}.") if chance else tuple(told)


NOTHING_LEARNED = Learned()
AS_CALCULATED = Learned(believed_time=LearnedFactor(1.0, 0.0), believed_mass=LearnedFactor(1.0, 0.0))
"""Bare figures, with which the log compares what it is told."""
