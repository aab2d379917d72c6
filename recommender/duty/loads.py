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
    Position,
    Pressure,
    SheetPart,
    Temperature,
    Torque,
)

LoadKind = Literal["static", "sustained", "cyclic", "impact"]
Action = Literal["pull", "push", "bend", "twist"]

SUSTAINED_DEFAULT_S = 31556952.0  # a year: "sustained" without a time is taken as this

# Fields that only one kind of load has, with what to do when they stand on another kind.
_ONLY_WITH: dict[str, tuple[str, str]] = {
    "duration": ("sustained", "Write `kind: sustained` if the load stays on that long, or leave it out."),
    "cycles": ("cyclic", "Write `kind: cyclic` if the load repeats, or leave it out."),
    "fully_reversed": ("cyclic", "Write `kind: cyclic` if the load swings both ways, or leave it out."),
    "energy": ("impact", "Write `kind: impact` for a blow, or give the force."),
    "drop": ("impact", "Write `kind: impact` for a falling mass, or leave it out."),
    "mass": ("impact", "For a hung or laid mass write it as the force (force: 5 kg)."),
}


class Load(SheetPart):
    """One load case.

    `static` lasts minutes; `sustained` lasts `duration`; `cyclic` repeats `cycles` times; `impact` has an
    `energy`, or a `mass` that drops from `drop`. A force may be written as a hung mass ("4 kg").
    """

    kind: LoadKind = Field(
        default="static", description="how the load comes: for minutes, for long, again, a blow"
    )
    action: Action | None = Field(default=None, description="what the load does to the part")
    force: Force | None = Field(
        default=None, description="how hard; a hung mass may be written instead (5 kg)"
    )
    torque: Torque | None = Field(default=None, description="how hard it is twisted (action: twist)")
    pressure: Pressure | None = Field(
        default=None, description="load spread over a plate, instead of a force"
    )
    at: Position | None = Field(
        default=None,
        description="where the force bends a bar, beam or plate: middle, end, spread, or a distance",
    )
    direction: Literal["thickness", "width"] = Field(
        default="thickness", description="side through which it bends"
    )
    duration: Duration | None = Field(
        default=None, description="how long a sustained load stays on; a year when left out"
    )
    cycles: int | None = Field(
        default=None, ge=1, le=10**9, description="how often a cyclic load repeats in all"
    )
    fully_reversed: bool = Field(
        default=False, description="a cyclic load that swings as far to the other side"
    )
    energy: Energy | None = Field(default=None, description="energy of a blow")
    mass: Mass | None = Field(default=None, description="mass that falls on the part")
    drop: Length | None = Field(default=None, description="height it falls from")
    temperature: Temperature | None = Field(
        default=None, description="temperature of the part while this load acts, when not that of the place"
    )
    note: str = Field("", description="your own words")

    @model_validator(mode="after")
    def _is_one_load(self) -> Load:
        self._fields_go_with_the_kind()
        self._says_how_much_once()
        return self

    def _fields_go_with_the_kind(self) -> None:
        for name, (kind, remedy) in _ONLY_WITH.items():
            if getattr(self, name) not in (None, False) and self.kind != kind:
                raise ValueError(f"{name} goes with kind: {kind}, not with kind: {self.kind}. {remedy}")
        if self.kind == "cyclic" and self.cycles is None:
            raise ValueError("a cyclic load needs cycles. Write how often it repeats in all (cycles: 5000).")

    def _says_how_much_once(self) -> None:
        falls = self.mass is not None or self.drop is not None
        if falls and (self.mass is None or self.drop is None):
            given, missing = ("drop", "mass") if self.mass is None else ("mass", "drop")
            example = "mass: 0.5 kg" if missing == "mass" else "drop: 200 mm"
            raise ValueError(
                f"{given} is given without {missing}. Add {example}, or give energy: 2 J instead."
            )
        said = [name for name in ("force", "torque", "pressure", "energy") if getattr(self, name) is not None]
        said += ["mass and drop"] if falls else []
        if len(said) > 1:
            raise ValueError(
                f"{' and '.join(said)} are both given. Keep one; a second load is a second entry of `loads`."
            )
        if self.kind == "impact" and not said:
            raise ValueError("an impact needs energy (2 J), or mass (0.5 kg) and drop (200 mm), or force.")
        self._twists_by_torque()

    def _twists_by_torque(self) -> None:
        if self.torque is not None and self.action not in (None, "twist"):
            raise ValueError(
                f"a torque twists, but action is {self.action}. "
                "Write `action: twist`, or give the force in N instead of the torque."
            )
        if self.force is not None and self.action == "twist":
            raise ValueError("a twist is a torque, not a force. Write torque: 1.5 N·m (force times arm).")

    @property
    def duration_s(self) -> float | None:
        """How long the load stays on, s; a year where a sustained load does not say."""
        if self.kind != "sustained":
            return None
        return self.duration if self.duration is not None else SUSTAINED_DEFAULT_S
