"""Steps of the classes in which observations are counted; see `recommender.log.classes`."""

from __future__ import annotations

NOMINAL_STEP_MM = 0.1
DEVIATION_STEP_MM = 0.01
LOG_RATIO_STEP = 0.01
LARGEST_CLASS = 1000  # a ratio beyond e^10, or a deviation beyond 10 mm, falls in the last class
