"""Refusals and cautions: triggers as data, one small evaluator over the whole duty sheet."""
