"""Answers as text for people, as JSON for machines, and as the note for whoever receives the part."""
