"""Fitting and judging the regression: needs the whole engine, so it stands above it; prediction does not."""
