"""The two types every function of this room speaks: what goes in and what comes out."""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

Values: TypeAlias = float | NDArray[np.float64]
"""A float, or an array that broadcasts against the other arguments; never None, never text."""

Computed: TypeAlias = Any
"""A float when every argument was a float, otherwise an array of the broadcast shape."""

Flags: TypeAlias = Any
"""A bool when every argument was a float, otherwise an array of bools of the broadcast shape."""
