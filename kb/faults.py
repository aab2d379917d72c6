"""The error that says the files of the knowledge base, or the user's overlay, have faults."""

from __future__ import annotations


class KnowledgeBaseError(Exception):
    """``problems`` lists every fault found, with file and field; the message shows the first three."""

    def __init__(self, problems: list[str]) -> None:
        self.problems = problems
        shown = "; ".join(problems[:3])
        more = f" (and {len(problems) - 3} more)" if len(problems) > 3 else ""
        super().__init__(
            f"the knowledge base has {len(problems)} fault(s): {shown}{more}. "
            "Run `partduty kb check` with the same overlay for the whole list."
        )
