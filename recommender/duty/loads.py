"""Load cases of a duty sheet."""

from __future__ import annotations

from typing import Literal

from pydantic import Field, model_validator

from recommender.duty.fields import (
    Duration,
    Energy,
    Force,
    Length,
    Mass,
    Pressure,
    SheetPart,
    Temperature,
    Torque,
)

LoadKind = Literal["static", "sustained", "cyclic", "impact"]
Action = Literal["pull", "push", "bend", "twist"]

SUSTAINED_DEFAULT_S = 31556952.0  # a year: "sustained" without a time is taken as this
CYCLES_DEFAULT = 100_000


class Load(SheetPart):
    """One load case.

    `static` lasts minutes; `sustained` lasts `duration`; `cyclic` repeats `cycles` times; `impact` has an
    `energy`, or a `mass` that drops from `drop`. A force may be written as a hung mass ("4 kg").
    """

    kind: LoadKind = "static"
    action: Action | None = None
    force: Force | None = None
    torque: Torque | None = None
    pressure: Pressure | None = None
    at: Literal["middle", "end", "spread"] | Length | None = None
    direction: Literal["thickness", "width"] = "thickness"
    duration: Duration | None = None
    cycles: int | None = Field(default=None, ge=1, le=10**9)
    fully_reversed: bool = False
    energy: Energy | None = None
    mass: Mass | None = None
    drop: Length | None = None
    temperature: Temperature | None = None
    note: str = ""

    @model_validator(mode="after")
    def _says_how_much(self) -> Load:
        if self.kind == "impact":
            if self.energy is None and (self.mass is None or self.drop is None) and self.force is None:
                raise ValueError(
                    "an impact needs energy (2 J), or mass (0.5 kg) and drop (200 mm), or force."
                )
            return self
        if self.kind == "cyclic" and self.cycles is None:
            raise ValueError("a cyclic load needs cycles, how often it repeats in all (cycles: 5000).")
        return self

    @property
    def duration_s(self) -> float | None:
        """How long the load stays on, s; a year where a sustained load does not say."""
        if self.kind != "sustained":
            return None
        return self.duration if self.duration is not None else SUSTAINED_DEFAULT_S
