"""Sources of moisture that a case switches off (`[without]`), to see what each of them does to a place.

What a switch takes away, and nothing else, is said in its description; `stemwall.cases.setup.switched_off` does it.
"""

from __future__ import annotations

from stemwall.cases.inputs.field_types import Strict, described

#: relative humidity that parts start with, at most, where construction water is left out [-]
SEASONED = 0.60
#: equivalent air-layer thickness of a sheet that stops liquid and lets vapour pass, and of one that stops both [m]
OPEN_TO_VAPOUR, TIGHT = 0.001, 10_000.0


class Without(Strict):
    """Sources of moisture that are switched off; all are there by default."""

    rain: bool = described(
        False,
        "no rain or snow falls, on wall, roof and ground, in the run and before it; leaks that bring a share of the "
        "driving rain bring nothing",
    )
    footing: bool = described(
        False,
        "no liquid water rises out of the footing: a sheet between it and what is built on it stops liquid and lets "
        f"vapour pass (sd {OPEN_TO_VAPOUR * 1000:g} mm); ground beside the wall still meets it",
    )
    ground_vapour: bool = described(
        False,
        "no moisture rises from the ground below the floor of a space: a sheet without holes lies on the ground and on "
        f"the inner part of the footing there (sd {TIGHT / 1000:g} km)",
    )
    summer_air: bool = described(
        False,
        "outdoor air is in no hour of the warmer half-year moister than the mean of the colder half-year (vapour "
        "pressure), at every face and wherever it streams in; its temperature stays",
    )
    indoor_air: bool = described(
        False,
        "indoor air that is given holds no more vapour than the outdoor air of the hour, and no moisture is produced "
        "in computed air; temperatures stay",
    )
    construction_water: bool = described(
        False,
        f"parts other than soil start no moister than in equilibrium with {SEASONED:.0%} relative humidity (a plain "
        "choice of seasoned material); soil starts as it does",
    )
    leaks: bool = described(False, "no leak brings water to a place, and no flood stands")
    joint_air: bool = described(False, "no air moves along joints ([[air_path]]); the joints stay where they are")

    @property
    def any(self) -> bool:
        """Whether anything is switched off."""
        return any(getattr(self, name) for name in type(self).model_fields)

    @property
    def names(self) -> tuple[str, ...]:
        """Keys of what is switched off, in the order of the fields."""
        return tuple(name for name in type(self).model_fields if getattr(self, name))
