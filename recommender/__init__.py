"""The engine: from a duty sheet to explained print settings, and what came out of them."""

__version__ = "0.1.0"
