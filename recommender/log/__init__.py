"""The outcome log: what was printed, what came of it, and what that teaches."""
